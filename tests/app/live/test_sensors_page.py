"""The page that finds sensors, with boards that nobody described: one on a serial line, one by radio."""

from __future__ import annotations

import struct
from collections.abc import Iterator

import pytest

from feltload.acquisition import load_rig
from feltload.app.text.live import sensors as words
from feltload.emulator.boards.board import Port
from invented_boards import InventedBoards
from live_pages import PHONE, LiveServer, Window
from unknown_boards import motion, words as counts

pytestmark = [
    pytest.mark.needs("pty", "chromium", "chromedriver", "network", "dbus-daemon"),
    pytest.mark.timeout(600),
]

COUNTS_PER_N = 400
CHARACTERISTIC = "6e40fff3-0000-4000-8000-00805f9b34fb"


def notifications() -> list[str]:
    """A six-axis sensor by radio: counter, clock in ms, accelerometer, gyroscope, low bytes first."""
    felt = motion(1500, seed=3)
    accel, gyro = counts(felt.accel_g, 4096.0), counts(felt.gyro_deg_s, 32.768)
    return [struct.pack("<HI6h", k, 50_000 + 10 * k, *accel[k], *gyro[k]).hex() for k in range(1500)]


@pytest.fixture
def cell() -> Iterator[str]:
    port, unused = Port(), Port()
    sender = InventedBoards(motion(3000), port.send, unused.send)
    sender.start()
    yield port.path
    sender.halt()
    port.close()
    unused.close()


def test_unknown_sensors_are_described_by_taps(cell, bluetooth, tmp_path) -> None:
    bluetooth.order(
        "add",
        address="02:00:5E:00:53:11",
        name="invented axes",
        characteristic=CHARACTERISTIC,
        payloads=notifications(),
        rate_hz=100,
    )
    folder = tmp_path / "bench"
    folder.mkdir()
    server, window = LiveServer(folder), Window(PHONE)
    try:
        window.open(server.own)
        window.tap("Find sensors")
        window.type_into(words.OTHER, "/dev/no-such-port")
        window.tap(words.LISTEN)
        window.wait("a missing port is not named", lambda: "no-such-port" in window.text("[role=alert]"))
        window.type_into(words.OTHER, cell)
        window.tap(words.LISTEN)
        window.wait("the cell is not heard", lambda: "load cell, last" in window.text(".page"))
        assert "CRC-16/GSM" in window.text(".page")
        window.type_into(words.COUNTS, str(COUNTS_PER_N))
        window.tap(words.SCAN)
        window.tap("invented axes")
        window.wait("the axes are not heard", lambda: "inertial sensor, last" in window.text(".page"))
        assert window.complaints() == []
        assert window.barriers() == []
        assert not window.overflows
        window.tap(words.WRITE)
        window.wait("not written", lambda: "rig.toml" in window.text(".page"))
    finally:
        window.close()
        assert "Traceback" not in server.close()
    rig = load_rig(folder / "rig.toml")
    force, inertial = (next(one for one in rig.streams if one.kind == kind) for kind in ("force", "inertial"))
    assert (force.link.port, force.checksum.name) == (cell, "CRC-16/GSM")
    assert (force.field("force").unit, force.field("force").scale) == ("N", 1.0 / COUNTS_PER_N)
    assert (inertial.link.type, inertial.link.characteristic) == ("ble", CHARACTERISTIC)
    assert inertial.field("device_time").unit == "ms"
