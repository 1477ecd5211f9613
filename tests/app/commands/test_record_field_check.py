"""`feltload record --field-check` on a real terminal."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

import pytest

from feltload.acquisition import read_recording


def test_known_weight_by_key_in_a_terminal(tmp_path):
    """The rig's arm rests and nothing hangs, so what is stated as 10 kg must be told as not there."""
    rig, machine, out = tmp_path / "rig.toml", tmp_path / "machine.toml", tmp_path / "row.mcap"
    sender = subprocess.Popen(
        [
            *(
                sys.executable,
                "-m",
                "feltload.emulator",
                "--duration",
                "40",
                "--seed",
                "3",
                "--patience",
                "120",
            ),
            *("--write-rig", str(rig), "--write-machine", str(machine)),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    keyboard, terminal = os.openpty()
    command = [
        *(
            sys.executable,
            "-m",
            "feltload.app",
            "record",
            str(rig),
            "--machine",
            str(machine),
            "--load",
            "20 kg",
        ),
        *("--tare", "1 s", "--out", str(out), "--json"),
    ]
    recorder = None
    try:
        json.loads(sender.stdout.readline())
        piped = subprocess.run(
            [*command, "--field-check", "10 kg"], stdin=subprocess.DEVNULL, capture_output=True, text=True
        )
        heavy = subprocess.run(
            [*command, "--field-check", "900 kg"], stdin=terminal, capture_output=True, text=True
        )
        recorder = subprocess.Popen(
            [*command, "--field-check", "10.0(0.1) kg"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=terminal,
            text=True,
        )
        until = time.monotonic() + 40.0
        while not (out.exists() and out.stat().st_size > 20_000) and time.monotonic() < until:
            time.sleep(0.1)
        os.write(keyboard, b"f")
        time.sleep(3.5)
        # A note full of letters that are keys, ended by Enter: it sets no other mark and ends nothing.
        os.write(keyboard, b"nknee quiet; zip, kick\n")
        time.sleep(0.5)
        os.write(keyboard, b"\n")
        time.sleep(0.5)
        running = recorder.poll() is None
        os.write(keyboard, b"y")
        said, remarks = recorder.communicate(timeout=60.0)
    finally:
        if recorder is not None:
            recorder.kill()
        sender.terminate()
        sender.communicate(timeout=10.0)
        os.close(keyboard)
        os.close(terminal)
    assert piped.returncode == 2 and "needs a terminal" in piped.stderr
    assert heavy.returncode == 2 and "do not hang this one" in heavy.stderr
    assert recorder.returncode == 0, remarks
    assert running
    marks = [(mark.kind, mark.text) for mark in read_recording(out).marks if mark.kind != "tare"]
    assert marks == [("field-check", "10.0(0.1) kg"), ("note", "knee quiet; zip, kick")]
    assert "Hang 10.0(0.1) kg on the cell" in remarks
    (check,) = json.loads(said)["field_checks"]
    (mark,) = [mark for mark in read_recording(out).marks if mark.kind == "field-check"]
    assert (mark.text, mark.until_s - mark.start_s) == ("10.0(0.1) kg", pytest.approx(3.0))
    assert check["applied_n"] == pytest.approx(98.0665)
    assert check["at_s"] == pytest.approx(mark.start_s)
    assert check["measured_n"] is not None
    assert check["agrees"] is not True
