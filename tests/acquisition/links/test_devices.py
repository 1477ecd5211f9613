"""What is in reach and what it sends, over real ptys and the emulated Bluetooth service."""

from __future__ import annotations

import asyncio
import binascii
import struct
import threading
import time

import pytest
from cobs import cobs

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links import devices
from feltload.acquisition.links.ports import SerialPort
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription


def force_frame(seq: int) -> bytes:
    payload = struct.pack("<BHIi", ord("F"), seq, seq * 10_000, seq)
    return cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\x00"


def inertial_frame(seq: int) -> bytes:
    payload = struct.pack("<BHI6h", ord("I"), seq, seq * 10_000, *range(6))
    return cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\x00"


def test_ports_found_by_what_they_send(make_board, monkeypatch: pytest.MonkeyPatch) -> None:
    boards = {name: make_board(name) for name in ("one", "two", "quiet")}
    monkeypatch.setattr(
        devices, "serial_ports", lambda: [SerialPort(str(b.port), "") for b in boards.values()]
    )
    rig = RigDescription(
        streams=(load_stream_description("reference-force"), load_stream_description("reference-inertial"))
    )
    halt = threading.Event()

    def talk() -> None:
        seq = 0
        while not halt.is_set():
            boards["one"].send(inertial_frame(seq & 0xFFFF))
            boards["two"].send(force_frame(seq & 0xFFFF))
            seq += 1
            time.sleep(0.01)

    thread = threading.Thread(target=talk)
    thread.start()
    found = asyncio.run(devices.find_ports(rig, seconds=0.4))
    halt.set()
    thread.join()
    assert found.stream("force").link.port == str(boards["two"].port)
    assert found.stream("inertial").link.port == str(boards["one"].port)
    with pytest.raises(LinkError, match="3 ports looked at") as caught:
        asyncio.run(devices.find_ports(rig, seconds=0.1))
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_peripherals_and_their_characteristics(bluetooth) -> None:
    characteristic = "6e400003-0000-4000-8000-00805f9b34fb"
    address = "02:00:5E:00:53:0A"
    bluetooth.order("add", address=address, name="feltload force", characteristic=characteristic)

    async def run() -> None:
        (found,) = await devices.peripherals(0.3)
        assert (found.address, found.name, found.rssi_dbm) == (address, "feltload force", -55)
        assert await devices.notifying_characteristics(address, scan_s=1.0) == [characteristic]

    asyncio.run(run())


def test_bluetooth_off_is_said(bluetooth) -> None:
    bluetooth.order("power", on=False)
    with pytest.raises(LinkError, match="switched off"):
        asyncio.run(devices.peripherals(0.2))
