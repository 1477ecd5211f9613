"""From the link that a description names to a link that can be opened."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path

from feltload.acquisition.errors import DescriptionError
from feltload.acquisition.links.ble import BleLink
from feltload.acquisition.links.link import Link
from feltload.acquisition.links.lsl import LslLink
from feltload.acquisition.links.ports import FollowedPort
from feltload.acquisition.links.program import ProgramLink
from feltload.acquisition.links.serial import SerialLink
from feltload.acquisition.links.sockets import TcpLink, UdpLink
from feltload.acquisition.recorder.replay import ReplayLink, open_replay
from feltload.acquisition.wire.descriptions.link_config import (
    BleLinkConfig,
    FileLinkConfig,
    LinkConfig,
    LslLinkConfig,
    ProgramLinkConfig,
    ReplayLinkConfig,
    SerialLinkConfig,
    TcpLinkConfig,
    UdpLinkConfig,
)


def link_opener(
    described: LinkConfig, *, stream: str, port: FollowedPort | None = None
) -> Callable[[], Link]:
    """Give a function that makes a new link each time a sensor is connected.

    Parameters
    ----------
    described : LinkConfig
        A serial port must be named; "auto" is settled before (see `devices.find_ports`).
    stream : str
        Name of the stream, for the message; in a recording, the one to replay.
    port : FollowedPort, optional
        A serial port by whatever name its board has when the link is opened again.

    Raises
    ------
    LinkError
        If a recording cannot be replayed.
    DescriptionError
        If the link cannot be opened at all (a file; a peripheral without address and name).
    """
    match described:
        case SerialLinkConfig():
            return lambda: SerialLink(
                described.port, line=described, locate=None if port is None else port.locate
            )
        case TcpLinkConfig():
            return lambda: TcpLink(described)
        case UdpLinkConfig():
            return lambda: UdpLink(described)
        case ProgramLinkConfig():
            return lambda: ProgramLink(described)
        case LslLinkConfig():
            return lambda: LslLink(described)
        case BleLinkConfig():
            if described.address is None and described.device_name is None:
                raise DescriptionError(
                    "neither address nor device_name of the Bluetooth sensor is given",
                    where=f"{stream}: link",
                    remedy="`feltload devices` lists those in reach",
                )
            return lambda: BleLink(
                described.characteristic,
                address=described.address,
                name=described.device_name,
                pair=described.pair,
            )
        case ReplayLinkConfig():
            replay = open_replay(Path(described.path), stream, speed=described.speed)
            return lambda: ReplayLink(replay, where=f"{described.path}: {stream}")
        case FileLinkConfig():
            raise DescriptionError(
                "a stream read from a file cannot be recorded",
                where=f"{stream}: link",
                remedy="use `feltload import`, or name a port",
            )


def link_name(link: LinkConfig) -> str:
    """Port, peripheral or file of a link, as shown to a person."""
    match link:
        case SerialLinkConfig():
            return link.port
        case BleLinkConfig():
            return link.device_name or link.address or link.characteristic
        case TcpLinkConfig():
            return f"tcp://{link.host}:{link.port}"
        case UdpLinkConfig():
            return f"udp://{link.host}:{link.port}"
        case ProgramLinkConfig():
            return shlex.join(link.command)
        case LslLinkConfig():
            return f"lsl://{link.outlet}"
        case ReplayLinkConfig():
            return link.path
        case FileLinkConfig():
            return link.name
