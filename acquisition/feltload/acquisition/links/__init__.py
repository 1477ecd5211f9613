"""Links to sensors: what opens, reads, watches and reopens a port or a peripheral."""

from __future__ import annotations

from feltload.acquisition.links.ble import BleLink
from feltload.acquisition.links.link import Arrival, Link, LinkDown, LinkUp
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.links.replay import Replay, ReplayLink
from feltload.acquisition.links.serial import SerialLink

__all__ = [
    "Arrival",
    "BackOff",
    "BleLink",
    "Link",
    "LinkDown",
    "LinkUp",
    "Reconnection",
    "Replay",
    "ReplayLink",
    "SerialLink",
]
