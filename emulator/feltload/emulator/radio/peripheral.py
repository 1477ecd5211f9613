"""An emulated Bluetooth LE peripheral: what it announces, and how it misbehaves."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field

from dbus_fast import Variant

ADAPTER = "/org/bluez/hci0"
ADAPTER_1, DEVICE_1 = "org.bluez.Adapter1", "org.bluez.Device1"
SERVICE_1, CHARACTERISTIC_1 = "org.bluez.GattService1", "org.bluez.GattCharacteristic1"
PROPERTIES, OBJECT_MANAGER = "org.freedesktop.DBus.Properties", "org.freedesktop.DBus.ObjectManager"
SERVICE_UUID = "6e400001-0000-4000-8000-00805f9b34fb"

Objects = dict[str, dict[str, dict[str, Variant]]]


@dataclass
class Peripheral:
    address: str
    name: str
    characteristic: str
    payloads: list[str] = field(default_factory=list)
    rate_hz: float = 100.0
    service: str = SERVICE_UUID
    sends_by: str = "notify"
    # How it misbehaves.
    refuses_pairing: bool = False
    needs_pairing: bool = False
    hangs_on_connect: bool = False
    fails_connect: bool = False
    silent: bool = False
    drop_after: int | None = None

    powered: bool = True
    announced: bool = False
    connected: bool = False
    paired: bool = False
    notifying: asyncio.Task[None] | None = None
    sent: int = 0
    connects: int = 0

    @property
    def path(self) -> str:
        return f"{ADAPTER}/dev_{self.address.replace(':', '_')}"

    @property
    def characteristic_path(self) -> str:
        return f"{self.path}/service000c/char000d"

    def device(self) -> dict[str, Variant]:
        return {
            "Address": Variant("s", self.address),
            "AddressType": Variant("s", "random"),
            "Name": Variant("s", self.name),
            "Alias": Variant("s", self.name),
            "Adapter": Variant("o", ADAPTER),
            "UUIDs": Variant("as", [self.service]),
            "RSSI": Variant("n", -55),
            "Paired": Variant("b", self.paired),
            "Bonded": Variant("b", self.paired),
            "Trusted": Variant("b", False),
            "Blocked": Variant("b", False),
            "LegacyPairing": Variant("b", False),
            "Connected": Variant("b", self.connected),
            "ServicesResolved": Variant("b", self.connected),
        }

    def attributes(self) -> Objects:
        service = f"{self.path}/service000c"
        return {
            service: {
                SERVICE_1: {
                    "UUID": Variant("s", self.service),
                    "Device": Variant("o", self.path),
                    "Primary": Variant("b", True),
                    "Includes": Variant("ao", []),
                }
            },
            self.characteristic_path: {
                CHARACTERISTIC_1: {
                    "UUID": Variant("s", self.characteristic),
                    "Service": Variant("o", service),
                    "Value": Variant("ay", b""),
                    "Notifying": Variant("b", False),
                    "Flags": Variant("as", [self.sends_by]),
                    "MTU": Variant("q", 247),
                }
            },
        }
