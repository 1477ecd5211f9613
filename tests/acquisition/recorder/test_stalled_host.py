"""The recorder stopped for a while by the system, over real ptys: what boards kept sending is counted to the sample."""

from __future__ import annotations

import array
import contextlib
import fcntl
import json
import os
import signal
import struct
import subprocess
import sys
import termios
import textwrap
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription
from feltload.acquisition.wire.facts import HealthFact
from serial_board import Board

RATE_HZ = 250.0
STALLS_S = (0.5, 0.9)
HELD_BYTES = 500
"""What a board's buffer holds for a host that does not read."""
IN_TIME_S = 0.15
"""Boards that sent later than this fell silent by themselves, which is another case: the stall is tried again."""
TRIES = 4

US16 = {"name": "device_time", "type": "u16", "unit": "us"}
STREAMS = {
    "held": {"framing": "cobs", "fields": [US16, {"name": "force", "type": "i32", "unit": "N"}]},
    "overrun": {"framing": "cobs", "fields": [US16, {"name": "force", "type": "i32", "unit": "N"}]},
    "numbered": {
        "framing": "cobs",
        "fields": [{"name": "seq", "type": "u8"}, {"name": "force", "type": "i32", "unit": "N"}],
    },
    "undescribed": {
        "framing": "lines",
        "fields": [{"name": "device_time", "unit": "us"}, {"name": "force", "unit": "N"}],
    },
    "bare": {"framing": "lines", "fields": [{"name": "force", "unit": "N"}]},
}
"""Boards of which each sends the number of its sample as the force."""

RECORDER = textwrap.dedent(
    """
    import asyncio, json, sys
    from pathlib import Path
    from feltload.acquisition import RecordingInfo, RigDescription, record

    rig = RigDescription.model_validate_json(sys.stdin.readline())
    said = False

    def say(status):
        global said
        if status.phase != "connecting" and not said:
            said = True
            print("recording", flush=True)

    summary = asyncio.run(
        record(rig, RecordingInfo(load_kg=20.0, rig=rig), Path(sys.argv[1]), duration_s=4.8, tare_s=0.0, on_status=say)
    )
    print(json.dumps({health.name: health.to_dict() for health in summary.streams}), flush=True)
    """
)


def message(name: str, number: int) -> bytes:
    time_us = int(number * 1e6 / RATE_HZ) % 65_536
    match name:
        case "held" | "overrun":
            return cobs.encode(struct.pack("<Hi", time_us, number)) + b"\x00"
        case "numbered":
            return cobs.encode(struct.pack("<Bi", number % 256, number)) + b"\x00"
        case "undescribed":
            return f"{time_us},{number}\n".encode()
    return f"{number}\n".encode()


class Sender(threading.Thread):
    """All boards, sample by sample."""

    def __init__(self, boards: dict[str, Board]) -> None:
        super().__init__(daemon=True)
        self.boards = boards
        self.running = True
        self.latest_s = 0.0
        """By how much the latest sample was late."""

    def run(self) -> None:
        start, number = time.monotonic(), 0
        while self.running:
            for name, board in self.boards.items():
                if name not in ("overrun", "numbered") or unread(board) < HELD_BYTES:
                    with contextlib.suppress(RuntimeError, OSError):
                        board.send(message(name, number))
            number += 1
            ahead_s = start + number / RATE_HZ - time.monotonic()
            self.latest_s = max(self.latest_s, -ahead_s)
            time.sleep(max(0.0, ahead_s))


def unread(board: Board) -> int:
    box = array.array("i", [0])
    fcntl.ioctl(board._descriptors[1], termios.FIONREAD, box, True)
    return box[0]


@pytest.fixture(scope="module")
def stalled(tmp_path_factory: pytest.TempPathFactory, make_boards: Callable[..., dict[str, Board]]):
    """A recording over which the recorder was stopped twice, and what it said at its end."""
    for _ in range(TRIES):
        recording, said, latest_s = stall(tmp_path_factory.mktemp("stalled"), make_boards)
        if latest_s < IN_TIME_S:
            break
    return recording, said


def stall(folder: Path, make_boards: Callable[..., dict[str, Board]]):
    boards = make_boards(folder, STREAMS)
    rig = RigDescription(
        streams=[
            StreamDescription(
                name=name,
                kind="force",
                rate_hz=RATE_HZ,
                link={"type": "serial", "port": str(boards[name].port)},
                **keys,
            )
            for name, keys in STREAMS.items()
        ]
    )
    sender = Sender(boards)
    sender.start()
    out = folder / "a.mcap"
    with subprocess.Popen(
        [sys.executable, "-c", RECORDER, str(out)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        try:
            process.stdin.write(rig.model_dump_json() + "\n")
            process.stdin.flush()
            assert process.stdout.readline() == "recording\n"
            for stall_s in STALLS_S:
                time.sleep(0.9)
                os.kill(process.pid, signal.SIGSTOP)
                time.sleep(stall_s)
                os.kill(process.pid, signal.SIGCONT)
            said = json.loads(process.stdout.readline())
        finally:
            process.kill()
            sender.running = False
            sender.join()
    return read_recording(out), said, sender.latest_s


def numbers(recording, name: str) -> np.ndarray:
    return recording.stream(name)["force_n"].to_numpy().astype(int)


def test_what_was_held_back_is_no_loss(stalled):
    recording, _ = stalled
    for name in ("held", "undescribed", "bare"):
        assert (np.diff(numbers(recording, name)) == 1).all()
        health = recording.health[name]
        counts = (health.lost, health.gaps, health.resets, health.uncounted)
        assert (name, *counts) == (name, 0, 0, 0, 0)
    for name in ("held", "undescribed"):
        frame = recording.stream(name)
        assert np.diff(frame["device_s"]) == pytest.approx(1.0 / RATE_HZ, abs=2e-6)
        # The host saw the stalls.
        assert np.diff(frame["host_s"]).max() > 0.8 * max(STALLS_S)


def test_what_a_full_buffer_lost_is_counted_to_the_sample(stalled):
    recording, _ = stalled
    for name in ("overrun", "numbered"):
        truth = numbers(recording, name)
        lost = int((np.diff(truth) - 1).sum())
        health = recording.health[name]
        assert lost > 50
        assert health.resets == 0
        if health.uncounted:
            assert health.lost < lost
        else:
            assert health.lost == lost
    assert recording.health["numbered"].uncounted == 0
    frame = recording.stream("numbered")
    assert (np.diff(frame["seq"]) == np.diff(numbers(recording, "numbered"))).all()


def test_a_wrap_that_nobody_described_is_said_once(stalled):
    recording, _ = stalled
    assert [(fact.kind, fact.figures) for fact in recording.health["undescribed"].facts()] == [
        (HealthFact.WRAP_NOT_DESCRIBED, {"field": "device_time", "wrap": 65_536})
    ]
    assert recording.health["bare"].facts() == ()


def test_the_recorder_says_what_the_file_says(stalled):
    recording, said = stalled
    assert said == {
        name: json.loads(json.dumps(health.to_dict())) for name, health in recording.health.items()
    }
