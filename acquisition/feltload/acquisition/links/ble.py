"""Bluetooth LE link: notifications of one characteristic, by bleak."""

from __future__ import annotations

import asyncio
import logging
import time
from types import TracebackType
from typing import Self
from weakref import WeakKeyDictionary

from bleak import BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData

from feltload.acquisition.links.ble_failure import connection_lost, link_error, not_found
from feltload.acquisition.links.inbox import DEFAULT_CAPACITY, Inbox
from feltload.acquisition.links.link import Arrival

DEFAULT_SCAN_S = 8.0
DEFAULT_CONNECT_S = 15.0
_DISCONNECT_S = 3.0

_log = logging.getLogger(__name__)

_radios: WeakKeyDictionary[asyncio.AbstractEventLoop, asyncio.Lock] = WeakKeyDictionary()


def radio() -> asyncio.Lock:
    """Lock under which one task at a time scans or connects.

    A client may scan only once at a time, and adapters fail connections made during a scan.
    """
    return _radios.setdefault(asyncio.get_running_loop(), asyncio.Lock())


class BleLink:
    """A sensor that notifies over Bluetooth LE; one arrival is exactly one notification.

    Parameters
    ----------
    characteristic : str
        UUID of the characteristic that notifies, long or short form.
    address : str, optional
        The peripheral's address (on macOS the identifier the system gives it).
    name : str, optional
        The name it advertises; used without an address.
    pair : bool
        Pair before reading.
    scan_s, connect_s : float
        Longest time, in seconds, to find and to connect the peripheral.
    capacity : int
        Arrivals held at most while the event loop is busy.
    """

    def __init__(
        self,
        characteristic: str,
        *,
        address: str | None = None,
        name: str | None = None,
        pair: bool = False,
        scan_s: float = DEFAULT_SCAN_S,
        connect_s: float = DEFAULT_CONNECT_S,
        capacity: int = DEFAULT_CAPACITY,
    ) -> None:
        if address is None and name is None:
            raise ValueError("a BleLink needs an address or a name")
        self._characteristic = characteristic
        self._address = address
        self._name = name
        self._pair = pair
        self._scan_s = scan_s
        self._connect_s = connect_s
        self._capacity = capacity
        self._inbox: Inbox | None = None
        self._client: BleakClient | None = None

    @property
    def where(self) -> str:
        """The peripheral's name or address."""
        return self._name or self._address or ""

    @property
    def backlog(self) -> int:
        """Arrivals received and not yet taken."""
        return 0 if self._inbox is None else self._inbox.backlog

    @property
    def dropped(self) -> int:
        """Arrivals thrown away because the backlog was full."""
        return 0 if self._inbox is None else self._inbox.dropped

    async def __aenter__(self) -> Self:
        inbox = Inbox(self._capacity)

        def on_disconnect(_: BleakClient) -> None:
            inbox.fail(connection_lost(self.where))

        def on_notification(_: BleakGATTCharacteristic, data: bytearray) -> None:
            inbox.put(Arrival(bytes(data), time.monotonic_ns()))

        async with radio():
            try:
                device = await BleakScanner.find_device_by_filter(self._is_wanted, timeout=self._scan_s)
            except Exception as error:
                # Platforms raise what they like here; whatever it is, it means "no Bluetooth now".
                raise link_error(error, self.where) from error
            if device is None:
                raise not_found(self.where, self._scan_s)
            self._client = BleakClient(
                device, disconnected_callback=on_disconnect, timeout=self._connect_s, pair=self._pair
            )
            try:
                await self._client.connect()
                await self._client.start_notify(self._characteristic, on_notification)
            except BaseException as error:
                await self._disconnect()
                if isinstance(error, Exception):
                    raise link_error(error, self.where) from error
                raise
        self._inbox = inbox
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self._disconnect()

    def __aiter__(self) -> Self:
        return self

    async def __anext__(self) -> Arrival:
        if self._inbox is None:
            raise RuntimeError("a BleLink is read inside `async with`")
        return await self._inbox.take()

    def _is_wanted(self, device: BLEDevice, advertisement: AdvertisementData) -> bool:
        if self._address is not None:
            return device.address.casefold() == self._address.casefold()
        return self._name in (device.name, advertisement.local_name)

    async def _disconnect(self) -> None:
        """Let go of the peripheral; a stack that is gone or hangs must not keep us."""
        if self._client is None:
            return
        client, self._client = self._client, None
        try:
            async with asyncio.timeout(_DISCONNECT_S):
                await client.disconnect()
        except Exception as error:
            _log.debug("%s: disconnecting failed: %r", self.where, error)
