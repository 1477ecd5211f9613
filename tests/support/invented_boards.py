"""Two boards of protocols invented for one test; nothing of the package describes them.

Board A, a cell: 9C 3E, clock first and highest byte first, in ticks of 32 768 Hz that start again at 120 000;
a reading of 24 bits, a temperature, CRC-16/GSM of all but the word.
Board B, a six-axis sensor: C4, a length byte, a counter of one byte, a clock of 16 bits in 0.1 ms that starts
again at 50 000, low bytes first, accelerometer before gyro, Fletcher's check modulo 256 over all but the first byte.
"""

from __future__ import annotations

import struct
import threading
import time
from collections.abc import Callable

import anycrc

from unknown_boards import Motion, words

_GSM = anycrc.Model("CRC16-GSM")


def cell_frame(k: int, reading: int) -> bytes:
    """Board A at 100 Hz."""
    ticks = (900_000 + k * 32_768 // 100) % 120_000
    body = (
        ticks.to_bytes(3, "big")
        + reading.to_bytes(3, "big", signed=True)
        + struct.pack(">h", 2140 + k // 300)
    )
    return b"\x9c\x3e" + body + int(_GSM.calc(body)).to_bytes(2, "big")


def axes_frame(k: int, accel: list[int], gyro: list[int]) -> bytes:
    """Board B at 100 Hz."""
    body = struct.pack("<BBH6h", 18, k & 0xFF, (31_000 + k * 100) % 50_000, *accel, *gyro)
    low = high = 0
    for byte in body:
        low = (low + byte) % 256
        high = (high + low) % 256
    return b"\xc4" + body + bytes([low, high])


class InventedBoards(threading.Thread):
    """Both boards, sending through two callables until halted; each 40th frame of either arrives damaged."""

    def __init__(
        self, motion: Motion, send_cell: Callable[[bytes], None], send_axes: Callable[[bytes], None]
    ) -> None:
        super().__init__(daemon=True)
        self._send = (send_cell, send_axes)
        # 400 counts a newton; full scales of 16 g and 500 deg/s.
        self.force = [
            reading[0] if isinstance(reading, list) else reading for reading in words(motion.force_n, 400.0)
        ]
        self.accel = words(motion.accel_g, 2048.0)
        self.gyro = words(motion.gyro_deg_s, 65.536)
        self.running = True

    def run(self) -> None:
        start = time.monotonic()
        k = 0
        while self.running:
            place = k % len(self.force)
            frames = (cell_frame(k, self.force[place]), axes_frame(k, self.accel[place], self.gyro[place]))
            for send, frame in zip(self._send, frames, strict=True):
                send(frame[:5] + frame[6:] if k % 40 == 39 else frame)
            k += 1
            time.sleep(max(0.0, start + k / 100.0 - time.monotonic()))

    def halt(self) -> None:
        self.running = False
        self.join()
