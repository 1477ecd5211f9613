"""The emulated rig as a process: real bytes through real pseudo terminals."""

import itertools
import json
import os
import signal
import struct
import subprocess
import sys
import time
from pathlib import Path

import pytest
from cobs import cobs

from feltload.acquisition.wire.checks.named import check_by_name
from feltload.acquisition.wire.descriptions.reading import load_rig
from feltload.emulator.__main__ import main

pytestmark = pytest.mark.needs("pty")
CRC = check_by_name("CRC-16/IBM-3740")


def start(*arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "feltload.emulator", *arguments]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def read_until_gone(
    process: subprocess.Popen[str], ports: dict[str, str], limit_s: float
) -> dict[str, bytes]:
    files = {
        name: os.open(ports[name], os.O_RDONLY | os.O_NOCTTY | os.O_NONBLOCK)
        for name in ("force", "inertial")
    }
    got = dict.fromkeys(files, b"")
    end = time.monotonic() + limit_s
    while process.poll() is None and time.monotonic() < end:
        for name, fd in files.items():
            try:
                got[name] += os.read(fd, 4096)
            except BlockingIOError:
                time.sleep(0.002)
            except OSError:
                break  # the far end is gone
    for fd in files.values():
        os.close(fd)
    return got


def good_payloads(data: bytes) -> tuple[list[bytes], int]:
    good, bad = [], 0
    for piece in data.split(b"\x00")[:-1]:
        if not piece:
            continue
        try:
            frame = cobs.decode(piece)
        except cobs.DecodeError:
            bad += 1
            continue
        if len(frame) > 2 and CRC.of(frame[:-2]) == int.from_bytes(frame[-2:], "little"):
            good.append(frame[:-2])
        else:
            bad += 1
    return good, bad


def test_session_comes_through_whole_and_in_real_time(tmp_path: Path) -> None:
    process = start(
        *("--duration", "22", "--linger", "0", "--speed", "8", "--seed", "2"),
        *("--write-rig", str(tmp_path / "rig.toml"), "--write-machine", str(tmp_path / "m.toml")),
    )
    try:
        ports = json.loads(process.stdout.readline())
        rig = load_rig(tmp_path / "rig.toml")
        assert {stream.link.port for stream in rig.streams} == {ports["force"], ports["inertial"]}
        began = time.monotonic()
        got = read_until_gone(process, ports, 30.0)
        assert 2.2 < time.monotonic() - began < 20.0
        assert process.wait(5) == 0
    finally:
        process.kill()
        process.communicate()
    for name, shape, rate in (("force", "<BHIi", 80.0), ("inertial", "<BHI6h", 100.0)):
        payloads, bad = good_payloads(got[name])
        assert bad == 0
        values = [struct.unpack(shape, payload) for payload in payloads]
        steps = [(later[1] - earlier[1]) % 65536 for earlier, later in itertools.pairwise(values)]
        assert all(1 <= step <= 3 for step in steps)
        assert len(values) == pytest.approx(22.0 * rate, rel=0.03)
        spent_us = (values[-1][2] - values[0][2]) % 2**32
        assert spent_us / 1e6 == pytest.approx(22.0, abs=0.2)


def test_corrupt_frames_and_a_restarted_board() -> None:
    process = start(
        *("--duration", "22", "--linger", "0", "--speed", "8", "--seed", "3"),
        *("--faults", "corrupt=0.05,reset=8"),
    )
    try:
        got = read_until_gone(process, json.loads(process.stdout.readline()), 30.0)
    finally:
        process.kill()
        process.communicate()
    payloads, bad = good_payloads(got["force"])
    assert 0.02 < bad / (bad + len(payloads)) < 0.09
    numbers = [struct.unpack("<BHIi", payload)[1] for payload in payloads]
    assert sum(later < earlier for earlier, later in itertools.pairwise(numbers)) == 1


def test_leaves_on_sigterm() -> None:
    process = start("--duration", "60")
    try:
        json.loads(process.stdout.readline())
        process.send_signal(signal.SIGTERM)
        assert process.wait(5) == 0
        assert process.stderr.read() == ""
    finally:
        process.kill()
        process.communicate()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--scenario", "no-such"), "no-such"),
        (("--load", "40 parsec"), "--load"),
        (("--duration", "1"), "longer"),
        (("--patience", "0.2"), "nobody read"),
        (("--tempo", "wild"), "--tempo"),
    ],
)
def test_bad_input_is_one_line_and_two(
    arguments: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = signal.getsignal(signal.SIGTERM)
    try:
        assert main(arguments) == 2
    finally:
        signal.signal(signal.SIGTERM, before)
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1


def test_process_leaves_with_two_and_no_traceback() -> None:
    process = start("--scenario", "no-such")
    _, error = process.communicate(timeout=60)
    assert process.returncode == 2
    assert len(error.strip().splitlines()) == 1
