"""Emulated boards on pseudo terminals: bytes of a drawn session, sent at the times it says."""

from __future__ import annotations

import array
import contextlib
import heapq
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from feltload.emulator.boards.faults import Faults, spoiled
from feltload.emulator.boards.protocols import Protocol
from feltload.emulator.errors import EmulatorError
from feltload.emulator.sensors.device_clock import DeviceSamples
from feltload.emulator.simulation import SimulatedRun

Message = tuple[float, bytes]


def _free_pty() -> tuple[int, int]:
    """A pty that nobody else has locked: numbers are used again, and a recorder elsewhere may still try one."""
    import fcntl

    taken: list[int] = []
    try:
        while True:
            master, slave = os.openpty()
            try:
                fcntl.flock(slave, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                taken += [master, slave]
                continue
            fcntl.flock(slave, fcntl.LOCK_UN)
            return master, slave
    finally:
        for descriptor in taken:
            os.close(descriptor)


class Port:
    """A pseudo terminal in raw mode; its far end stays open here, so that a reader may come and go.

    Raises
    ------
    EmulatorError
        On a platform without pseudo terminals.
    """

    def __init__(self) -> None:
        try:
            import fcntl
            import termios
            import tty
        except ImportError:
            raise EmulatorError(
                "this platform has no pseudo terminals",
                remedy="run the emulated rig on Linux or macOS",
            ) from None

        def unread(fd: int, box: array.array[int]) -> None:
            fcntl.ioctl(fd, termios.FIONREAD, box, True)

        self._unread = unread
        self._master, self._slave = _free_pty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.path = os.ttyname(self._slave)
        self.lost_bytes = 0

    def send(self, data: bytes) -> None:
        """Send as a board does: what does not fit into the line's buffer is gone."""
        try:
            self.lost_bytes += len(data) - os.write(self._master, data)
        except BlockingIOError:
            self.lost_bytes += len(data)

    def waiting(self) -> int:
        """Bytes that no reader has taken yet."""
        box = array.array("i", [0])
        self._unread(self._slave, box)
        return box[0]

    def close(self) -> None:
        for fd in (self._slave, self._master):
            with contextlib.suppress(OSError):
                os.close(fd)


@dataclass(frozen=True)
class Boards:
    """The two ports of a rig."""

    force: Port
    inertial: Port


def messages(
    samples: DeviceSamples,
    frame: Callable[[int, int, np.ndarray], bytes],
    faults: Faults,
    *,
    resets: bool,
    seed: int,
) -> Iterator[Message]:
    """Arrival time and bytes of everything that one board sends."""
    rng = np.random.default_rng(seed)
    first, start_us = 0, 0
    for index in range(samples.sample_s.size):
        if resets and faults.reset and not first and samples.sample_s[index] >= faults.reset:
            first, start_us = index, int(samples.device_us[index]) - 250_000
        if not samples.kept[index] or rng.random() < faults.drop:
            continue
        data = frame(index - first, int(samples.device_us[index]) - start_us, samples.words[index])
        yield float(samples.arrival_s[index]), spoiled(data, rng) if rng.random() < faults.corrupt else data


def wait_for_readers(boards: Boards, patience_s: float) -> None:
    """Return once someone reads both ports.

    A lone frame delimiter is left in each line; it means nothing and is gone once someone has read or flushed.

    Raises
    ------
    EmulatorError
        If nobody does in time.
    """
    ports = (boards.force, boards.inertial)
    for port in ports:
        port.send(b"\x00")
    # The kernel passes bytes on a moment later: an empty line is a reader's work only after that.
    time.sleep(0.1)
    end = time.monotonic() + patience_s
    while any(port.waiting() for port in ports):
        if time.monotonic() > end:
            raise EmulatorError(
                f"nobody read the ports within {patience_s:g} s",
                where=f"{boards.force.path}, {boards.inertial.path}",
                remedy="start the recorder, or raise --patience",
            )
        time.sleep(0.005)


def sent(run: SimulatedRun, faults: Faults, protocol: Protocol) -> Iterator[tuple[float, bytes, str]]:
    """Arrival time, bytes and board, ``"force"`` or ``"inertial"``, of everything that a session sends, in order."""
    count_n = run.scenario.sensors.force.count_n

    def force(seq: int, device_us: int, counts: np.ndarray) -> bytes:
        return protocol.force(seq, device_us, int(counts), count_n)

    def inertial(seq: int, device_us: int, words: np.ndarray) -> bytes:
        return protocol.inertial(seq, device_us, words.tolist())

    return heapq.merge(
        (
            (at, data, "force")
            for at, data in messages(run.force_samples, force, faults, resets=True, seed=run.seed)
        ),
        (
            (at, data, "inertial")
            for at, data in messages(run.inertial_samples, inertial, faults, resets=False, seed=run.seed + 1)
        ),
        key=lambda line: line[0],
    )


def play(run: SimulatedRun, boards: Boards, faults: Faults, protocol: Protocol, *, speed: float) -> None:
    """Send a session in real time (times `speed`), from now on."""
    start = time.monotonic()
    plugged = True
    for at, data, name in sent(run, faults, protocol):
        wait = start + at / speed - time.monotonic()
        if wait > 0.0:
            time.sleep(wait)
        if name == "inertial":
            if not faults.silent or at < faults.silent:
                boards.inertial.send(data)
            continue
        if plugged and faults.hangup and at >= faults.hangup:
            plugged = False
            boards.force.close()
        if plugged:
            boards.force.send(data)
