"""The board's end of a serial cable, on a pty."""

from __future__ import annotations

import contextlib
import fcntl
import os
import tty
from pathlib import Path


class Board:
    """The board's end of a serial cable.

    `port` is a symbolic link to the pty's other end, as a system keeps one per device: unplugging removes
    what it points to, replugging makes a new pty under the same name.
    """

    def __init__(self, port: Path) -> None:
        self.port = port
        self._descriptors: tuple[int, int] | None = None

    def plug(self) -> None:
        board, host = _free_pty()
        tty.setraw(host)
        os.set_blocking(board, False)
        # The host's end is kept open too: bytes sent before anyone opens the port are not lost.
        self._descriptors = (board, host)
        self.port.unlink(missing_ok=True)
        self.port.symlink_to(os.ttyname(host))

    def unplug(self) -> None:
        if self._descriptors is not None:
            for descriptor in self._descriptors:
                os.close(descriptor)
            self._descriptors = None
        self.port.unlink(missing_ok=True)

    def replace(self) -> None:
        """Plug in at another pty than before."""
        before, self._descriptors = self._descriptors, None
        self.plug()
        for descriptor in before or ():
            os.close(descriptor)

    def send(self, data: bytes) -> None:
        if self._descriptors is None:
            raise RuntimeError("the board is not plugged in")
        while data:
            with contextlib.suppress(BlockingIOError):
                data = data[os.write(self._descriptors[0], data) :]


def _free_pty() -> tuple[int, int]:
    """A pty that nobody else has locked: numbers are used again, and a process elsewhere may still try one."""
    taken = []
    try:
        while True:
            board, host = os.openpty()
            try:
                fcntl.flock(host, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                taken += [board, host]
                continue
            fcntl.flock(host, fcntl.LOCK_UN)
            return board, host
    finally:
        for descriptor in taken:
            os.close(descriptor)
