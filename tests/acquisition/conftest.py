"""Sensors for tests: boards on real ptys, peripherals on a private D-Bus."""

from __future__ import annotations

import contextlib
import fcntl
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import threading
import tty
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from board_rig import Rig

# A helper beside the tests is loaded by path: the test directories are no packages.
if "board_rig" not in sys.modules:
    _spec = importlib.util.spec_from_file_location("board_rig", Path(__file__).with_name("board_rig.py"))
    if _spec is None or _spec.loader is None:
        raise ImportError("board_rig.py is missing beside the tests")
    sys.modules["board_rig"] = importlib.util.module_from_spec(_spec)
    _spec.loader.exec_module(sys.modules["board_rig"])

BLUETOOTH = Path(__file__).parent / "emulated_bluez"


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


class PrivateBus:
    """A D-Bus daemon of our own with an emulated Bluetooth service on it (see emulated_bluez)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.socket = folder / "bus"
        self.address = f"unix:path={self.socket}"
        self._daemon: subprocess.Popen[bytes] | None = None
        self._service: subprocess.Popen[str] | None = None

    def start_daemon(self) -> None:
        configuration = self.folder / "bus.conf"
        text = (BLUETOOTH / "private_bus.conf").read_text(encoding="utf-8")
        configuration.write_text(text.replace("@SOCKET@", str(self.socket)), encoding="utf-8")
        self.socket.unlink(missing_ok=True)
        self._daemon = subprocess.Popen(
            ["dbus-daemon", f"--config-file={configuration}", "--nofork", "--nopidfile", "--print-address"],
            stdout=subprocess.PIPE,
        )
        if self._daemon.stdout is None or not self._daemon.stdout.readline():
            raise RuntimeError("the D-Bus daemon did not start")

    def start_service(self) -> None:
        self._service = subprocess.Popen(
            [sys.executable, str(BLUETOOTH / "service.py")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": self.address},
        )
        self._answer()

    def order(self, do: str, **details: Any) -> dict[str, Any]:
        if self._service is None or self._service.stdin is None:
            raise RuntimeError("the emulated service is not running")
        self._service.stdin.write(json.dumps({"do": do, **details}) + "\n")
        self._service.stdin.flush()
        return self._answer()

    def _answer(self) -> dict[str, Any]:
        if self._service is None or self._service.stdout is None:
            raise RuntimeError("the emulated service is not running")
        line = self._service.stdout.readline()
        if not line:
            raise RuntimeError("the emulated service died")
        return json.loads(line)

    def kill_service(self) -> None:
        self._end(self._service)
        self._service = None

    def kill_daemon(self) -> None:
        self._end(self._daemon)
        self._daemon = None

    @staticmethod
    def _end(process: subprocess.Popen[Any] | None) -> None:
        if process is not None:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()


@pytest.fixture
def bluetooth(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[PrivateBus]:
    """A private bus with the emulated service, which bleak takes for the system's."""
    if shutil.which("dbus-daemon") is None:
        message = "dbus-daemon is missing: the Bluetooth tests cannot run (install the package `dbus`)"
        if os.environ.get("CI") == "true":
            pytest.fail(message)
        pytest.skip(message)
    bus = PrivateBus(tmp_path)
    bus.start_daemon()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    bus.start_service()
    yield bus
    bus.kill_service()
    bus.kill_daemon()
