"""Sensors for tests: boards on real ptys, peripherals on a private D-Bus."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from board_rig import Rig
from feltload.emulator.radio.private_bus import PrivateBus
from needs import require
from serial_board import Board


@pytest.fixture
def make_board(tmp_path: Path) -> Iterator[Callable[[str], Board]]:
    require("pty")
    boards: list[Board] = []

    def make(name: str = "port") -> Board:
        board = Board(tmp_path / name)
        board.plug()
        boards.append(board)
        return board

    yield make
    for board in boards:
        board.unplug()


@pytest.fixture(scope="module")
def make_boards() -> Iterator[Callable[..., dict[str, Board]]]:
    """Boards of a whole module, by name, their ports in a folder."""
    require("pty")
    boards: list[Board] = []

    def make(folder: Path, names: Iterable[str]) -> dict[str, Board]:
        made = {name: Board(folder / name) for name in names}
        for board in made.values():
            board.plug()
            boards.append(board)
        return made

    yield make
    for board in boards:
        board.unplug()


@pytest.fixture
def board(make_board: Callable[..., Board]) -> Board:
    return make_board()


@pytest.fixture
def rig(make_board: Callable[[str], Board]) -> Iterator[Rig]:
    """Two boards that send once `start` is called, and what names their ports."""
    rig = Rig(make_board)
    yield rig
    for firmware in rig.firmware.values():
        if firmware.is_alive():
            firmware.halt()


@pytest.fixture(autouse=True)
def nothing_left_behind() -> Iterator[None]:
    """No reader thread may outlive its link."""
    yield
    assert [
        thread.name for thread in threading.enumerate() if thread.name.startswith(("link ", "errors of "))
    ] == []


@pytest.fixture
def bluetooth(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[PrivateBus]:
    """A private bus with the emulated service, which bleak uses as the system's."""
    require("dbus-daemon")
    bus = PrivateBus(tmp_path)
    bus.start_daemon()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    bus.start_service()
    yield bus
    bus.kill_service()
    bus.kill_daemon()
