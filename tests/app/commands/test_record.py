"""`feltload record` on real terminal lines, ended by Ctrl-C; and a rig on which nothing moves."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

from feltload.acquisition import read_recording


@contextmanager
def emulated_rig(folder, *words):
    """A rig that sends over two real terminal lines; its rig file and its machine file."""
    rig, machine = folder / "rig.toml", folder / "machine.toml"
    sender = subprocess.Popen(
        [
            *(sys.executable, "-m", "feltload.emulator", *words),
            *("--write-rig", str(rig), "--write-machine", str(machine)),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        json.loads(sender.stdout.readline())
        yield rig, machine
    finally:
        sender.terminate()
        sender.communicate(timeout=10.0)


def test_a_range_never_moved_is_one_clear_line_and_the_file_is_kept(tmp_path, feltload):
    out = tmp_path / "row.mcap"
    with emulated_rig(tmp_path, "--duration", "20", "--seed", "3") as (rig, machine):
        # The emulated person rests for three seconds before touching the handle: nothing moves so long.
        ran = feltload(
            *("record", rig, "--machine", machine, "--load", "40 kg", "--out", out),
            *("--tare", "1 s", "--duration", "2.2 s"),
        )
    assert ran.code == 2, ran.err
    errors = [line for line in ran.err.splitlines() if line.startswith("feltload: ")]
    assert len(errors) == 1
    assert ran.err.rstrip().endswith(errors[0])
    for words in (str(out), "hardly moved", "file is kept", "inertial sensor is on the moving part"):
        assert words in errors[0]
    read = read_recording(out)
    assert read.damage == ()
    assert len(read.stream("force")) > 50
    # What is said of a sensor at rest depends on its noise; it is one line in any case.
    feltload("profile", out, "--out", tmp_path / "r").one_line_error()


def test_ctrl_c_ends_a_recording_well(tmp_path):
    out = tmp_path / "row.mcap"
    with emulated_rig(tmp_path, "--duration", "40", "--seed", "3") as (rig, machine):
        recorder = subprocess.Popen(
            [
                *(sys.executable, "-m", "feltload.app", "record", str(rig), "--machine", str(machine)),
                *("--load", "40.0(0.1) kg", "--tare", "2 s", "--out", str(out), "--json"),
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
        )
        until = time.monotonic() + 40.0
        while not (out.exists() and out.stat().st_size > 40_000) and time.monotonic() < until:
            time.sleep(0.2)
        recorder.send_signal(signal.SIGINT)
        said, remarks = recorder.communicate(timeout=20.0)
    assert recorder.returncode == 0, remarks
    assert "! Never stand under a loaded machine or reach into it" in remarks
    result = json.loads(said)
    assert result["recording"] == str(out)
    read = read_recording(out)
    assert read.damage == ()
    assert read.info.load_kg == 40.0
    assert read.info.load_u_kg == pytest.approx(0.1)
    assert [mark.kind for mark in read.marks][:1] == ["tare"]
    samples = {stream["name"]: stream["samples"] for stream in result["streams"]}
    assert samples == {name: len(read.stream(name)) for name in samples}


def test_a_zero_taken_while_the_arm_moves_is_said_at_once(tmp_path, feltload):
    """The emulated person begins after three seconds, in a hands-off window of six: told while still at the machine."""
    out = tmp_path / "row.mcap"
    with emulated_rig(tmp_path, "--duration", "30", "--seed", "3") as (rig, machine):
        ran = feltload(
            *("record", rig, "--machine", machine, "--load", "40 kg", "--out", out, "--json"),
            *("--tare", "7 s", "--duration", "14 s"),
        )
    assert ran.code == 0, ran.err
    assert "zero of force: " in ran.err and "hands-off window" in ran.err
    zero = json.loads(ran.out)["zeros"]["force"]
    assert zero["warnings"]
