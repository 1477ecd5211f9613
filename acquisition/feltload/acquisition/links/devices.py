"""Sensors in reach: serial ports, advertising Bluetooth LE peripherals, and what they send."""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass

from bleak import BleakClient, BleakScanner

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.ble import radio
from feltload.acquisition.links.ble_failure import link_error
from feltload.acquisition.links.identify_stream import identify_stream
from feltload.acquisition.links.link import Link
from feltload.acquisition.links.ports import serial_ports
from feltload.acquisition.links.serial import SerialLink
from feltload.acquisition.links.watchdog import next_arrival
from feltload.acquisition.wire.descriptions.link_config import SerialLinkConfig
from feltload.acquisition.wire.descriptions.schema import RigDescription

__all__ = [
    "Peripheral",
    "find_ports",
    "listen",
    "notifying_characteristics",
    "peripherals",
    "serial_ports",
]


@dataclass(frozen=True)
class Peripheral:
    """An advertising Bluetooth LE peripheral.

    Attributes
    ----------
    address, name : str
    rssi_dbm : int
        Signal strength; below about -85 the link will break now and then.
    services : tuple of str
        UUIDs of the services it advertises.
    """

    address: str
    name: str
    rssi_dbm: int
    services: tuple[str, ...]


async def peripherals(scan_s: float = 5.0) -> list[Peripheral]:
    """Scan for Bluetooth LE peripherals, the nearest first.

    Raises
    ------
    LinkError
        If there is no Bluetooth, or it is off.
    """
    async with radio():
        try:
            in_reach = await BleakScanner.discover(scan_s, return_adv=True)
        except Exception as error:
            # Platforms raise what they like here; whatever it is, it means "no Bluetooth now".
            raise link_error(error, "Bluetooth") from error
    listed = [
        Peripheral(device.address, device.name or "", advertised.rssi, tuple(advertised.service_uuids))
        for device, advertised in in_reach.values()
    ]
    return sorted(listed, key=lambda item: -item.rssi_dbm)


async def notifying_characteristics(address: str, *, scan_s: float = 8.0) -> list[str]:
    """Connect to a peripheral and list the UUIDs of the characteristics that notify.

    Raises
    ------
    LinkError
        If it cannot be connected.
    """
    async with radio():
        try:
            async with BleakClient(address, timeout=scan_s) as client:
                return [
                    characteristic.uuid
                    for service in client.services
                    for characteristic in service.characteristics
                    if {"notify", "indicate"} & set(characteristic.properties)
                ]
        except Exception as error:
            raise link_error(error, address) from error


async def listen(link: Link, seconds: float) -> list[tuple[int, bytes]]:
    """Take what a link brings for a while; nothing is an empty list.

    Raises
    ------
    LinkError
        If the link cannot be opened, or is lost.
    """
    until_s = time.monotonic() + seconds
    messages: list[tuple[int, bytes]] = []
    async with link:
        while (left_s := until_s - time.monotonic()) > 0:
            try:
                arrival = await next_arrival(link, silence_s=left_s)
            except LinkError as error:
                if error.reason is LinkReason.SILENT:
                    break
                raise
            messages.append((arrival.host_ns, arrival.data))
    return messages


async def find_ports(rig: RigDescription, *, seconds: float = 2.0) -> RigDescription:
    """Replace the ports called "auto" by those that send these streams.

    Parameters
    ----------
    rig : RigDescription
    seconds : float
        For how long each port is listened to, all at once.

    Returns
    -------
    RigDescription
        With every serial port named.

    Raises
    ------
    LinkError
        If no port sends one of the streams.
    """
    wanted = [
        stream
        for stream in rig.streams
        if isinstance(stream.link, SerialLinkConfig) and stream.link.port == "auto"
    ]
    if not wanted:
        return rig
    taken = {stream.link.port for stream in rig.streams if isinstance(stream.link, SerialLinkConfig)}
    names = [port.name for port in serial_ports() if port.name not in taken]
    lines = dict.fromkeys(stream.link for stream in wanted if isinstance(stream.link, SerialLinkConfig))
    heard: dict[str, list[tuple[int, bytes]]] = {}
    ports: dict[str, SerialLinkConfig] = {}
    for line in lines:
        suited = [stream for stream in wanted if stream.link == line]
        results = await asyncio.gather(
            *(listen(SerialLink(name, line=line), seconds) for name in names), return_exceptions=True
        )
        for name, result in zip(names, results, strict=True):
            if isinstance(result, LinkError):
                continue  # busy, or no sensor's port
            if isinstance(result, BaseException):
                raise result
            heard[name] = result
            left = [stream for stream in suited if stream.name not in ports]
            stream = identify_stream(result, left) if left else None
            if stream is not None:
                ports[stream.name] = line.model_copy(update={"port": name})
    missing = [stream.name for stream in wanted if stream.name not in ports]
    if missing:
        sending = [name for name, messages in heard.items() if messages]
        raise LinkError(
            f"no serial port sends {' or '.join(missing)} ({len(names)} ports looked at, "
            f"{len(sending)} of them send something)",
            reason=LinkReason.NOT_FOUND,
            where=rig.name,
            remedy="plug the sensor in, or name its port in the rig file",
        )
    streams = [
        stream.model_copy(update={"link": ports[stream.name]}) if stream.name in ports else stream
        for stream in rig.streams
    ]
    return rig.model_copy(update={"streams": tuple(streams)})
