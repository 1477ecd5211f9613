"""`feltload record` on real terminal lines, ended by Ctrl-C."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time

import pytest

from feltload.acquisition import read_recording


@pytest.mark.xdist_group("real-time")
def test_ctrl_c_ends_a_recording_well(tmp_path):
    rig, machine, out = tmp_path / "rig.toml", tmp_path / "machine.toml", tmp_path / "row.mcap"
    sender = subprocess.Popen(
        [
            *(sys.executable, "-m", "feltload.acquisition.emulator", "--duration", "40", "--seed", "3"),
            *("--write-rig", str(rig), "--write-machine", str(machine)),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        json.loads(sender.stdout.readline())
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
    finally:
        sender.terminate()
        sender.communicate(timeout=10.0)
    assert recorder.returncode == 0, remarks
    assert "never reach" in remarks.lower() or "never stand" in remarks.lower()
    result = json.loads(said)
    assert result["recording"] == str(out)
    read = read_recording(out)
    assert read.damage is None
    assert read.info.load_kg == 40.0
    assert read.info.load_u_kg == pytest.approx(0.1)
    assert [mark.kind for mark in read.marks][:1] == ["tare"]
    samples = {stream["name"]: stream["samples"] for stream in result["streams"]}
    assert samples == {name: len(read.stream(name)) for name in samples}
