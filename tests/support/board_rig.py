"""Two boards on ptys that send the reference protocol, and the rig that names their ports.

The frames are made here with the `cobs` package and the standard library's CRC, apart from the decoder.
"""

from __future__ import annotations

import asyncio
import binascii
import contextlib
import struct
import threading
import time
from collections.abc import Callable
from pathlib import Path

from cobs import cobs

from feltload.acquisition.links.reconnection import BackOff
from feltload.acquisition.recorder.channel_reader import Patience
from feltload.acquisition.recorder.record import record
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.status import RecordingSummary
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription

PATIENCE = Patience(first_silence_s=0.6, silence_s=0.5, back_off=BackOff(first_s=0.02, longest_s=0.1))


def frame(kind: str, seq: int, device_us: int, values: bytes | None = None) -> bytes:
    if values is None:
        values = struct.pack("<i", 1000 + seq) if kind == "F" else struct.pack("<6h", *range(6))
    payload = struct.pack("<BHI", ord(kind), seq & 0xFFFF, device_us & 0xFFFFFFFF) + values
    # crc_hqx with this start value is the catalogue's CRC-16/IBM-3740.
    payload += struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))
    return cobs.encode(payload) + b"\x00"


class Firmware(threading.Thread):
    """Sends frames through a board's pty at a rate, from sequence number 0."""

    def __init__(self, board, kind: str, rate_hz: float = 250.0) -> None:
        super().__init__(daemon=True)
        self.board, self.kind, self.rate_hz = board, kind, rate_hz
        self.running = True
        self.seq = 0
        self.inject: Callable[[int, bytes], bytes] = lambda seq, data: data

    def run(self) -> None:
        start = time.monotonic()
        while self.running:
            data = frame(self.kind, self.seq, int(self.seq * 1e6 / self.rate_hz))
            # A board that is unplugged sends nowhere.
            with contextlib.suppress(RuntimeError, OSError):
                self.board.send(self.inject(self.seq, data))
            self.seq += 1
            time.sleep(max(0.0, start + self.seq / self.rate_hz - time.monotonic()))

    def halt(self) -> None:
        self.running = False
        self.join()


class Rig:
    """Two boards on ptys, and the rig description that names their ports."""

    def __init__(self, make_board: Callable[[str], object]) -> None:
        self.boards = {"force": make_board("force"), "inertial": make_board("inertial")}
        self.firmware = {
            "force": Firmware(self.boards["force"], "F"),
            "inertial": Firmware(self.boards["inertial"], "I"),
        }
        self.description = RigDescription(
            streams=tuple(
                load_stream_description(
                    f"reference-{name}",
                    changes={"link": {"port": str(board.port)}, "rate_hz": 250.0},
                )
                for name, board in self.boards.items()
            )
        )

    def start(self, *names: str) -> None:
        for name in names or ("force", "inertial"):
            self.firmware[name].start()

    def record(self, path: Path, **settings: object) -> RecordingSummary:
        settings = {"duration_s": 1.0, "tare_s": 0.2, "patience": PATIENCE, **settings}
        info = RecordingInfo(load_kg=20.0, rig=self.description)

        async def run() -> RecordingSummary:
            summary = await record(self.description, info, path, **settings)
            assert asyncio.all_tasks() == {asyncio.current_task()}
            return summary

        return asyncio.run(run())
