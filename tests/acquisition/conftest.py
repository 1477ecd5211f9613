"""Sensors for tests: boards on real ptys, peripherals on a private D-Bus."""

from __future__ import annotations

import contextlib
import fcntl
import importlib.util
import os
import shutil
import sys
import threading
import tty
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from board_rig import Rig
    from private_bus import PrivateBus

# Helpers beside the tests are loaded by path: the test directories are no packages.
for _path in ("board_rig.py", "emulated_bluez/private_bus.py"):
    _name = Path(_path).stem
    _spec = importlib.util.spec_from_file_location(_name, Path(__file__).parent / _path)
    if _spec is None or _spec.loader is None:
        raise ImportError(f"{_path} is missing beside the tests")
    if _name not in sys.modules:
        sys.modules[_name] = importlib.util.module_from_spec(_spec)
        _spec.loader.exec_module(sys.modules[_name])


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


@pytest.fixture
def make_board(tmp_path: Path) -> Iterator[Callable[[str], Board]]:
    boards: list[Board] = []

    def make(name: str = "port") -> Board:
        board = Board(tmp_path / name)
        board.plug()
        boards.append(board)
        return board

    yield make
    for board in boards:
        board.unplug()


@pytest.fixture
def board(make_board: Callable[..., Board]) -> Board:
    return make_board()


@pytest.fixture
def rig(make_board: Callable[[str], Board]) -> Iterator[Rig]:
    """Two boards that send once `start` is called, and what names their ports."""
    rig = sys.modules["board_rig"].Rig(make_board)
    yield rig
    for firmware in rig.firmware.values():
        if firmware.is_alive():
            firmware.halt()


@pytest.fixture(autouse=True)
def nothing_left_behind() -> Iterator[None]:
    """No reader thread may outlive its link."""
    yield
    assert [thread.name for thread in threading.enumerate() if thread.name.startswith("serial ")] == []


@pytest.fixture
def bluetooth(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[PrivateBus]:
    """A private bus with the emulated service, which bleak takes for the system's."""
    if shutil.which("dbus-daemon") is None:
        message = "dbus-daemon is missing: the Bluetooth tests cannot run (install the package `dbus`)"
        if os.environ.get("CI") == "true":
            pytest.fail(message)
        pytest.skip(message)
    bus = sys.modules["private_bus"].PrivateBus(tmp_path)
    bus.start_daemon()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    bus.start_service()
    yield bus
    bus.kill_service()
    bus.kill_daemon()
