"""Serial ports for tests: a real pty, and a symbolic link that stays when the board is replugged."""

from __future__ import annotations

import asyncio
import contextlib
import os
import threading
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest


class Board:
    """The board's end of a serial cable.

    `port` is a symbolic link to the pty's other end, as a system keeps one per device: unplugging removes
    what it points to, replugging makes a new pty under the same name.
    """

    def __init__(self, port: Path) -> None:
        self.port = port
        self._descriptors: tuple[int, int] | None = None

    def plug(self) -> None:
        board, host = os.openpty()
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

    def send(self, data: bytes) -> None:
        if self._descriptors is None:
            raise RuntimeError("the board is not plugged in")
        while data:
            with contextlib.suppress(BlockingIOError):
                data = data[os.write(self._descriptors[0], data) :]


@pytest.fixture
def board(tmp_path: Path) -> Iterator[Board]:
    board = Board(tmp_path / "port")
    board.plug()
    yield board
    board.unplug()


@pytest.fixture(autouse=True)
def nothing_left_behind() -> Iterator[None]:
    """No reader thread may outlive its link."""
    yield
    left = [thread.name for thread in threading.enumerate() if thread.name.startswith("serial ")]
    assert left == []


async def other_tasks() -> set[asyncio.Task[object]]:
    """Tasks beside the one that asks."""
    return asyncio.all_tasks() - {asyncio.current_task()}
