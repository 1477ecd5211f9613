"""The Bluetooth LE link through bleak and its BlueZ backend, against an emulated service on a private bus."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from typing import Any

import pytest

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.ble import BleLink
from feltload.acquisition.links.link import Arrival, LinkDown, LinkUp
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.links.watchdog import next_arrival

FORCE, INERTIAL = "02:00:5E:00:53:0A", "02:00:5E:00:53:0B"
CHARACTERISTIC = "6e400003-0000-4000-8000-00805f9b34fb"


def payloads(count: int, size: int = 180) -> list[bytes]:
    return [index.to_bytes(4, "little") + bytes([index % 251]) * (size - 4) for index in range(count)]


def add(bluetooth, address: str = FORCE, name: str = "feltload force", **settings: Any) -> list[bytes]:
    sent = payloads(settings.pop("count", 1000))
    bluetooth.order(
        "add",
        address=address,
        name=name,
        characteristic=CHARACTERISTIC,
        payloads=[payload.hex() for payload in sent],
        **{"rate_hz": 200, **settings},
    )
    return sent


def link(address: str | None = FORCE, **settings: Any) -> BleLink:
    return BleLink(CHARACTERISTIC, address=address, **{"scan_s": 1.0, "connect_s": 3.0, **settings})


async def take(source: BleLink, count: int) -> list[bytes]:
    return [(await next_arrival(source, silence_s=2.0)).data for _ in range(count)]


async def bleak_is_idle() -> None:
    """Nothing of a connection may be left, save the one task with which bleak watches its bus."""
    for _ in range(50):
        left = [
            task
            for task in asyncio.all_tasks() - {asyncio.current_task()}
            if "_monitor_bus_disconnect" not in repr(task.get_coro())
        ]
        if not left:
            return
        await asyncio.sleep(0.02)
    raise AssertionError(f"tasks left behind: {left}")


def failure(coroutine: Any) -> LinkError:
    with pytest.raises(LinkError) as caught:
        asyncio.run(coroutine)
    assert "\n" not in str(caught.value)
    return caught.value


async def open_once(**settings: Any) -> None:
    async with link(**settings):
        pass


def test_every_notification_of_a_fast_sensor_arrives(bluetooth) -> None:
    """200 notifications a second of 180 bytes, three seconds long."""
    sent = add(bluetooth)

    async def run() -> None:
        async with link() as source:
            arrivals = [await next_arrival(source, silence_s=2.0) for _ in range(600)]
            assert source.dropped == 0
        assert [arrival.data for arrival in arrivals] == sent[:600]
        duration_s = (arrivals[-1].host_ns - arrivals[0].host_ns) * 1e-9
        assert duration_s == pytest.approx(599 / 200, rel=0.05)
        await bleak_is_idle()
        assert bluetooth.order("state")["connected"] == []
        assert bluetooth.order("state")["scanners"] == 0

    asyncio.run(run())


def test_found_by_name(bluetooth) -> None:
    sent = add(bluetooth, INERTIAL, "feltload inertial")
    add(bluetooth)

    async def run() -> None:
        async with link(None, name="feltload inertial") as source:
            assert await take(source, 3) == sent[:3]

    asyncio.run(run())


def test_two_sensors_at_once(bluetooth) -> None:
    """They connect at the same moment, though an adapter scans for one client at a time."""
    sent = {address: add(bluetooth, address, rate_hz=100) for address in (FORCE, INERTIAL)}

    async def read(address: str) -> list[bytes]:
        async with link(address) as source:
            return await take(source, 100)

    async def run() -> list[list[bytes]]:
        return await asyncio.gather(read(FORCE), read(INERTIAL))

    assert asyncio.run(run()) == [sent[FORCE][:100], sent[INERTIAL][:100]]


def test_connect_and_disconnect_often(bluetooth) -> None:
    add(bluetooth)

    async def run() -> None:
        for _ in range(25):
            async with link() as source:
                await take(source, 1)
        await bleak_is_idle()

    asyncio.run(run())
    state = bluetooth.order("state")
    assert state["connects"] == {FORCE: 25}
    assert state["connected"] == []


def test_connection_breaks_in_mid_stream(bluetooth) -> None:
    sent = add(bluetooth, drop_after=50)

    async def run() -> None:
        async with link() as source:
            assert await take(source, 50) == sent[:50]
            await next_arrival(source, silence_s=2.0)

    error = failure(run())
    assert error.reason is LinkReason.LOST
    assert "connection was lost" in str(error)


def quick_reconnection(**settings: Any) -> Reconnection:
    return Reconnection(
        lambda: link(scan_s=0.5),
        back_off=BackOff(first_s=0.05, longest_s=0.2),
        **{"silence_s": 0.5, "first_silence_s": 1.0, **settings},
    )


async def until_back(reconnection: Reconnection, disturb: Any) -> tuple[LinkDown, LinkUp]:
    """Read ten arrivals, disturb, and read until the link is back."""
    async with contextlib.aclosing(reconnection.run()) as events:
        for _ in range(10):
            assert isinstance(await anext(events), Arrival)
        disturb()
        down = None
        async for event in events:
            if isinstance(event, LinkDown):
                down = event
            if isinstance(event, LinkUp):
                assert down is not None
                assert isinstance(await anext(events), Arrival)
                return down, event
    raise AssertionError("it never came back")


def test_reconnects_after_a_broken_connection(bluetooth) -> None:
    add(bluetooth)
    down, _ = asyncio.run(until_back(quick_reconnection(), lambda: bluetooth.order("drop", address=FORCE)))
    assert down.error.reason is LinkReason.LOST


def test_peripheral_vanishes_and_returns(bluetooth) -> None:
    add(bluetooth)

    def disturb() -> None:
        bluetooth.order("vanish", address=FORCE)
        threading.Timer(1.0, bluetooth.order, ("return",), {"address": FORCE}).start()

    down, up = asyncio.run(until_back(quick_reconnection(), disturb))
    assert down.error.reason is LinkReason.LOST
    assert up.host_ns - down.host_ns > 0.9e9
    assert up.attempts >= 2


def test_bluetooth_service_dies_and_returns(bluetooth) -> None:
    """Its client is not told: silence is the only sign, and the stale connection must not be used."""
    add(bluetooth)

    def disturb() -> None:
        bluetooth.kill_service()

        def restart() -> None:
            bluetooth.start_service()
            add(bluetooth)

        threading.Timer(1.0, restart).start()

    down, up = asyncio.run(until_back(quick_reconnection(), disturb))
    assert down.error.reason is LinkReason.SILENT
    assert up.attempts >= 2


def test_bus_daemon_dies_and_returns(bluetooth) -> None:
    add(bluetooth)

    def disturb() -> None:
        bluetooth.kill_daemon()
        bluetooth.kill_service()

        def restart() -> None:
            bluetooth.start_daemon()
            bluetooth.start_service()
            add(bluetooth)

        threading.Timer(1.0, restart).start()

    down, _ = asyncio.run(until_back(quick_reconnection(), disturb))
    assert down.error.reason in (LinkReason.LOST, LinkReason.SILENT)


def test_silent_peripheral(bluetooth) -> None:
    add(bluetooth, silent=True)

    async def run() -> None:
        async with contextlib.aclosing(quick_reconnection(first_silence_s=0.3).run()) as events:
            await anext(events)

    error = failure(run())
    assert error.reason is LinkReason.SILENT
    assert "sent nothing in 0.3 s" in str(error)


def test_not_in_reach(bluetooth) -> None:
    error = failure(open_once(scan_s=0.3))
    assert error.reason is LinkReason.NOT_FOUND
    assert FORCE in str(error)
    assert "switch it on" in str(error)


def test_refused_pairing(bluetooth) -> None:
    add(bluetooth, refuses_pairing=True)
    error = failure(open_once(pair=True))
    assert error.reason is LinkReason.REFUSED
    assert "refused to pair" in str(error)


def test_needs_pairing(bluetooth) -> None:
    add(bluetooth, needs_pairing=True)
    error = failure(open_once())
    assert error.reason is LinkReason.REFUSED
    assert "pair = true" in str(error)
    asyncio.run(open_once(pair=True))


def test_switched_off(bluetooth) -> None:
    add(bluetooth)
    bluetooth.order("power", on=False)
    error = failure(open_once())
    assert error.reason is LinkReason.ADAPTER_OFF
    assert "switched off" in str(error)


def test_switched_off_in_mid_stream(bluetooth) -> None:
    add(bluetooth)

    def disturb() -> None:
        bluetooth.order("power", on=False)
        threading.Timer(0.5, bluetooth.order, ("power",), {"on": True}).start()

    down, _ = asyncio.run(until_back(quick_reconnection(), disturb))
    assert down.error.reason is LinkReason.LOST


def test_no_bluetooth_service(bluetooth) -> None:
    bluetooth.kill_service()
    error = failure(open_once())
    assert error.reason is LinkReason.SERVICE_GONE
    assert "service is not running" in str(error)


def test_no_bus(bluetooth) -> None:
    bluetooth.kill_service()
    bluetooth.kill_daemon()
    assert failure(open_once()).reason is LinkReason.SERVICE_GONE


def test_wrong_characteristic(bluetooth) -> None:
    add(bluetooth)

    async def run() -> None:
        async with BleLink("2a9d", address=FORCE, scan_s=1.0):
            pass

    error = failure(run())
    assert error.reason is LinkReason.UNSUPPORTED
    assert "no characteristic" in str(error)


def test_connection_attempt_fails(bluetooth) -> None:
    add(bluetooth, fails_connect=True)
    error = failure(open_once())
    assert error.reason is LinkReason.LOST
    assert "while it was being made" in str(error)


def test_connection_attempt_hangs(bluetooth) -> None:
    add(bluetooth, hangs_on_connect=True)
    error = failure(open_once(connect_s=0.5))
    assert error.reason is LinkReason.LOST
    assert "did not answer" in str(error)
