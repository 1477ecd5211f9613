"""A rig of two boards on ptys whose cell reads newtons, and requests to record it."""

from __future__ import annotations

import os
import signal
import struct
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from board_rig import Rig, frame
from feltload.acquisition import RecordingInfo, RigDescription
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.recorder.session_file import SessionFile, running_sessions
from serial_board import Board

CAPACITY_N = 900.0


@dataclass
class LiveRig:
    """Boards that send from now on, and what records them."""

    rig: Rig
    request: RecordingRequest
    force_n: int = 100

    def start(self) -> LiveRig:
        def weighted(seq: int, data: bytes) -> bytes:
            return frame("F", seq, int(seq * 1e6 / 250.0), struct.pack("<i", self.force_n))

        self.rig.firmware["force"].inject = weighted
        self.rig.start()
        return self


@pytest.fixture
def sessions(tmp_path, monkeypatch) -> Iterator[Path]:
    """Where recorders of this test put their session files; one that a failing test leaves is ended."""
    monkeypatch.setenv("FELTLOAD_SESSIONS", str(tmp_path / "sessions"))
    yield tmp_path / "sessions"
    for session in running_sessions():
        with suppress(ProcessLookupError):
            os.kill(SessionFile.read(session).pid, signal.SIGTERM)


@pytest.fixture
def live_rig(tmp_path, recordings, sessions):
    boards = []

    def make_board(name: str) -> Board:
        board = Board(tmp_path / name)
        board.plug()
        boards.append(board)
        return board

    rig = Rig(make_board)
    force, inertial = rig.description.streams
    fields = tuple(
        field.model_copy(update={"unit": "N"}) if field.name == "force" else field for field in force.fields
    )
    force = force.model_copy(update={"fields": fields, "rated_capacity_n": CAPACITY_N})
    info = RecordingInfo(
        load_kg=20.0,
        rig=RigDescription(streams=(force, inertial)),
        machine_toml=(recordings / "lever-row.toml").read_text(encoding="utf-8"),
        kind="machine",
    )
    yield LiveRig(rig, RecordingRequest(info, tmp_path / "set.mcap", tare_s=0.5))
    for firmware in rig.firmware.values():
        if firmware.is_alive():
            firmware.halt()
    for board in boards:
        board.unplug()
