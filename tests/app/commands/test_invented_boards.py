"""Two boards of protocols invented for the occasion, recorded from `feltload devices --write` and what it says."""

from __future__ import annotations

import json

import numpy as np
import pytest

from feltload.acquisition import load_rig, read_recording
from feltload.emulator.boards.board import Port
from invented_boards import InventedBoards
from unknown_boards import motion

pytestmark = pytest.mark.needs("pty")

MACHINE = """name = "bench lever (invented)"
mechanism = "lever"
start_angle = "-25(0.3) deg"
[lever]
handle_radius = "655(2) mm"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "270(3) mm"
angle = "13.0(0.8) deg"
"""


@pytest.fixture
def boards():
    cell, axes = Port(), Port()
    sender = InventedBoards(motion(3000), cell.send, axes.send)
    sender.start()
    yield cell.path, axes.path
    sender.halt()
    cell.close()
    axes.close()


def test_from_unknown_bytes_to_newtons(boards, tmp_path, feltload):
    rig, out = tmp_path / "rig.toml", tmp_path / "a.mcap"
    machine = tmp_path / "machine.toml"
    machine.write_text(MACHINE)
    ran = feltload("devices", *boards, "--scan", "6.5 s", "--write", rig, "--json")
    assert ran.code == 0, ran.err
    found = [port["streams"] for port in json.loads(ran.out)["ports"]]
    (cell,), (axes,) = found
    assert cell["keys"]["checksum"] == {"name": "CRC-16/GSM", "big_endian": True, "skip": 2}
    assert axes["keys"]["checksum"]["name"] == "FLETCHER-16/MOD-256"
    # What is left to say is the force's unit and nothing else: both clocks started again while it listened.
    open_ends = [
        fact["kind"] for stream in (cell, axes) for fact in stream["facts"] if fact["severity"] != "note"
    ]
    assert set(open_ends) <= {"force-in-counts", "force-doubtful"}
    force, inertial = load_rig(rig).streams
    assert force.field("device_time").scale == pytest.approx(1 / 32_768)
    assert inertial.field("device_time").wrap == 50_000
    # The one edit that the file names: 400 counts a newton, from the board's data sheet.
    text = rig.read_text(encoding="utf-8")
    assert text.count('name = "force", type = "i24", big_endian = true, unit = "counts"') == 1
    assert load_rig(rig).stream("force").field("device_time").wrap == 120_000
    rig.write_text(text.replace('unit = "counts"', 'unit = "N", scale = 0.0025'), encoding="utf-8")
    ran = feltload(
        *("record", rig, "--machine", machine, "--load", "20 kg", "--out", out, "--json"),
        *("--tare", "0 s", "--duration", "3 s"),
    )
    recording = read_recording(out)
    assert recording.damage == ()
    for stream in recording.info.rig.streams:
        health = recording.health[stream.name]
        assert health.samples > 240
        assert 3 <= health.bad_checksum + health.bad_frames <= 15
        assert (health.resets, health.clock_jumps) == (0, 0)
    pulled = recording.stream("force")["force_n"]
    assert 80.0 < pulled.min() < 120.0 and 240.0 < pulled.max() < 290.0
    felt = recording.stream("inertial")
    length = np.linalg.norm(felt[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy(), axis=1)
    assert length == pytest.approx(9.80665, abs=0.15)
    assert np.degrees(felt["gyro_y_rad_s"].abs().max()) == pytest.approx(86.0, abs=5.0)
