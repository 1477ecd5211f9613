"""An emulated Bluetooth service: owns the bus name org.bluez and has peripherals that notify.

Run as a process of its own: ``python service.py`` with DBUS_SYSTEM_BUS_ADDRESS set. It takes commands as JSON
lines on standard input and answers each with one JSON line on standard output:

``{"do": "add", "address": "AA:...", "name": "force", "payloads": [hex, ...], "rate_hz": 200, ...}``
    A peripheral (see `Peripheral`) that advertises while somebody scans.
``{"do": "drop", "address": ...}``        the connection breaks; it still advertises
``{"do": "vanish", "address": ...}``      its power goes: connection breaks, no more advertising
``{"do": "return", "address": ...}``      its power comes back
``{"do": "power", "on": false}``          the adapter is switched off or on
``{"do": "state"}``                       what clients did so far

It knows the interfaces of BlueZ from its published D-Bus API (Adapter1, Device1, GattService1,
GattCharacteristic1), as far as a client that scans, connects and subscribes needs them.
"""

from __future__ import annotations

import asyncio
import json
import sys
from typing import Any

from dbus_fast import BusType, Message, MessageFlag, MessageType, Variant
from dbus_fast.aio import MessageBus

from feltload.emulator.radio.peripheral import (
    ADAPTER,
    ADAPTER_1,
    CHARACTERISTIC_1,
    DEVICE_1,
    OBJECT_MANAGER,
    PROPERTIES,
    Objects,
    Peripheral,
)


class BluetoothError(Exception):
    """An error reply."""

    def __init__(self, name: str, text: str) -> None:
        super().__init__(text)
        self.name = name


class Service:
    def __init__(self, bus: MessageBus) -> None:
        self.bus = bus
        self.powered = True
        self.peripherals: dict[str, Peripheral] = {}
        self.scanners: dict[str, asyncio.Task[None]] = {}

    # What clients see ------------------------------------------------------------------------------

    def objects(self) -> Objects:
        found: Objects = {"/org/bluez": {}, ADAPTER: {ADAPTER_1: self.adapter()}}
        for peripheral in self.peripherals.values():
            if peripheral.announced:
                found[peripheral.path] = {DEVICE_1: peripheral.device()}
                if peripheral.connected:
                    found.update(peripheral.attributes())
        return found

    def adapter(self) -> dict[str, Variant]:
        return {
            "Address": Variant("s", "00:00:5E:00:53:01"),
            "Name": Variant("s", "emulated"),
            "Alias": Variant("s", "emulated"),
            "Powered": Variant("b", self.powered),
            "Discovering": Variant("b", bool(self.scanners)),
            "Roles": Variant("as", ["central"]),
            "UUIDs": Variant("as", []),
        }

    def signal(self, path: str, interface: str, member: str, signature: str, body: list[Any]) -> None:
        self.bus.send(Message.new_signal(path, interface, member, signature, body))

    def changed(self, path: str, interface: str, properties: dict[str, Variant]) -> None:
        self.signal(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", [interface, properties, []])

    def added(self, path: str, interfaces: dict[str, dict[str, Variant]]) -> None:
        self.signal("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", [path, interfaces])

    def removed(self, path: str, interfaces: list[str]) -> None:
        self.signal("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", [path, interfaces])

    # What clients ask ------------------------------------------------------------------------------

    def handle(self, message: Message) -> Message | bool | None:
        if message.message_type is MessageType.SIGNAL and message.member == "NameOwnerChanged":
            name, _, owner = message.body
            if not owner:
                self.client_gone(name)
            return None
        if message.message_type is not MessageType.METHOD_CALL or not message.path:
            return None
        if not message.path.startswith("/org/bluez") and message.interface != OBJECT_MANAGER:
            return None
        asyncio.get_running_loop().create_task(self.answer(message))
        return True

    async def answer(self, message: Message) -> None:
        try:
            signature, body = await self.call(message)
            reply = Message.new_method_return(message, signature, body)
        except BluetoothError as error:
            reply = Message.new_error(message, error.name, str(error))
        if not message.flags & MessageFlag.NO_REPLY_EXPECTED:
            self.bus.send(reply)

    async def call(self, message: Message) -> tuple[str, list[Any]]:
        path, member = message.path or "", message.member
        if member == "GetManagedObjects":
            return "a{oa{sa{sv}}}", [self.objects()]
        if path == ADAPTER:
            self.adapter_call(message)
            return "", []
        peripheral = next(
            (item for item in self.peripherals.values() if item.announced and path.startswith(item.path)),
            None,
        )
        if peripheral is None:
            raise BluetoothError("org.freedesktop.DBus.Error.UnknownObject", f"no such object {path}")
        match member:
            case "Connect":
                await self.connect(peripheral)
            case "Disconnect":
                self.disconnect(peripheral)
            case "Pair":
                if peripheral.refuses_pairing:
                    raise BluetoothError("org.bluez.Error.AuthenticationRejected", "Authentication Rejected")
                await self.connect(peripheral)
                peripheral.paired = True
                self.changed(peripheral.path, DEVICE_1, {"Paired": Variant("b", True)})
            case "Set":
                pass
            case "StartNotify":
                if peripheral.needs_pairing and not peripheral.paired:
                    raise BluetoothError("org.bluez.Error.NotPermitted", "Not paired")
                peripheral.notifying = asyncio.create_task(self.notify(peripheral))
            case "StopNotify":
                self.stop_notifying(peripheral)
            case _:
                raise BluetoothError("org.freedesktop.DBus.Error.UnknownMethod", str(member))
        return "", []

    def adapter_call(self, message: Message) -> None:
        if not self.powered:
            raise BluetoothError("org.bluez.Error.NotReady", "Resource Not Ready")
        if message.member == "StartDiscovery":
            if message.sender in self.scanners:
                raise BluetoothError("org.bluez.Error.InProgress", "Operation already in progress")
            self.scanners[message.sender] = asyncio.create_task(self.advertise())
        elif message.member == "StopDiscovery":
            task = self.scanners.pop(message.sender, None)
            if task is None:
                raise BluetoothError("org.bluez.Error.Failed", "No discovery started")
            task.cancel()
        elif message.member != "SetDiscoveryFilter":
            raise BluetoothError("org.freedesktop.DBus.Error.UnknownMethod", str(message.member))

    async def advertise(self) -> None:
        while True:
            for peripheral in self.peripherals.values():
                if not peripheral.powered or peripheral.connected:
                    continue
                if peripheral.announced:
                    self.changed(peripheral.path, DEVICE_1, {"RSSI": Variant("n", -55)})
                else:
                    peripheral.announced = True
                    self.added(peripheral.path, {DEVICE_1: peripheral.device()})
            await asyncio.sleep(0.05)

    # Connections -----------------------------------------------------------------------------------

    async def connect(self, peripheral: Peripheral) -> None:
        if peripheral.hangs_on_connect:
            await asyncio.sleep(3600)
        if peripheral.fails_connect or not peripheral.powered:
            raise BluetoothError("org.bluez.Error.Failed", "le-connection-abort-by-peer")
        peripheral.connected = True
        peripheral.connects += 1
        self.changed(peripheral.path, DEVICE_1, {"Connected": Variant("b", True)})
        await asyncio.sleep(0.02)
        for path, interfaces in peripheral.attributes().items():
            self.added(path, interfaces)
        self.changed(peripheral.path, DEVICE_1, {"ServicesResolved": Variant("b", True)})

    def disconnect(self, peripheral: Peripheral) -> None:
        self.stop_notifying(peripheral)
        if not peripheral.connected:
            return
        peripheral.connected = False
        self.changed(
            peripheral.path,
            DEVICE_1,
            {"ServicesResolved": Variant("b", False), "Connected": Variant("b", False)},
        )
        for path, interfaces in peripheral.attributes().items():
            self.removed(path, list(interfaces))

    def client_gone(self, name: str) -> None:
        if task := self.scanners.pop(name, None):
            task.cancel()

    def stop_notifying(self, peripheral: Peripheral) -> None:
        if peripheral.notifying is not None:
            peripheral.notifying.cancel()
            peripheral.notifying = None

    async def notify(self, peripheral: Peripheral) -> None:
        """Send the payloads at their rate, catching up when late, as a radio's queue does."""
        loop = asyncio.get_running_loop()
        start, count = loop.time(), 0
        while not peripheral.silent and peripheral.payloads:
            payload = bytes.fromhex(peripheral.payloads[peripheral.sent % len(peripheral.payloads)])
            self.changed(peripheral.characteristic_path, CHARACTERISTIC_1, {"Value": Variant("ay", payload)})
            peripheral.sent += 1
            count += 1
            if peripheral.sent == peripheral.drop_after:
                self.disconnect(peripheral)
                return
            await asyncio.sleep(max(0.0, start + count / peripheral.rate_hz - loop.time()))

    # What the test orders --------------------------------------------------------------------------

    def order(self, command: dict[str, Any]) -> dict[str, Any]:
        match command.pop("do"):
            case "add":
                peripheral = Peripheral(**command)
                self.peripherals[peripheral.address] = peripheral
            case "drop":
                self.disconnect(self.peripherals[command["address"]])
            case "vanish":
                peripheral = self.peripherals[command["address"]]
                self.disconnect(peripheral)
                peripheral.powered = peripheral.announced = False
                self.removed(peripheral.path, [DEVICE_1])
            case "return":
                self.peripherals[command["address"]].powered = True
            case "silence":
                self.peripherals[command["address"]].silent = True
            case "power":
                self.powered = command["on"]
                for peripheral in self.peripherals.values():
                    self.disconnect(peripheral)
                self.changed(ADAPTER, ADAPTER_1, {"Powered": Variant("b", self.powered)})
            case "state":
                return {
                    "scanners": len(self.scanners),
                    "sent": {item.address: item.sent for item in self.peripherals.values()},
                    "connects": {item.address: item.connects for item in self.peripherals.values()},
                    "connected": [item.address for item in self.peripherals.values() if item.connected],
                }
            case other:
                raise ValueError(f"unknown order {other!r}")
        return {"ok": True}


async def main() -> None:
    bus = await MessageBus(bus_type=BusType.SYSTEM).connect()
    service = Service(bus)
    bus.add_message_handler(service.handle)
    await bus.call(
        Message(
            destination="org.freedesktop.DBus",
            path="/org/freedesktop/DBus",
            interface="org.freedesktop.DBus",
            member="AddMatch",
            signature="s",
            body=["type='signal',sender='org.freedesktop.DBus',member='NameOwnerChanged'"],
        )
    )
    await bus.request_name("org.bluez")
    # As the real service does when it starts: clients of an earlier one learn of the new adapter.
    service.added(ADAPTER, {ADAPTER_1: service.adapter()})

    reader = asyncio.StreamReader(limit=1 << 22)
    await asyncio.get_running_loop().connect_read_pipe(
        lambda: asyncio.StreamReaderProtocol(reader), sys.stdin
    )
    print(json.dumps({"ready": True}), flush=True)
    while line := await reader.readline():
        print(json.dumps(service.order(json.loads(line))), flush=True)


if __name__ == "__main__":
    asyncio.run(main())
