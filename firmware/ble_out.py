"""Bluetooth LE peripheral with one characteristic that notifies."""

import bluetooth
from protocol import CHARACTERISTICS, SERVICE

_CONNECTED, _DISCONNECTED = 1, 2


class Peripheral:
    """Advertises under a name; `notify` sends to whoever is connected."""

    def __init__(self, name, kind):
        self._name = name
        self._connections = set()
        self._ble = bluetooth.BLE()
        self._ble.active(True)
        self._ble.config(gap_name=name, mtu=247)
        self._ble.irq(self._event)
        characteristic = (bluetooth.UUID(CHARACTERISTICS[kind]), bluetooth.FLAG_NOTIFY)
        ((self._handle,),) = self._ble.gatts_register_services(((bluetooth.UUID(SERVICE), (characteristic,)),))
        self.refused = 0
        self._advertise()

    def notify(self, data):
        for connection in tuple(self._connections):
            try:
                self._ble.gatts_notify(connection, self._handle, data)
            except OSError:
                # The radio's queue is full; the host sees the gap in the sequence.
                self.refused += 1

    def _event(self, event, data):
        if event == _CONNECTED:
            self._connections.add(data[0])
        elif event == _DISCONNECTED:
            self._connections.discard(data[0])
            self._advertise()

    def _advertise(self):
        name = self._name.encode()
        flags = b"\x02\x01\x06"
        self._ble.gap_advertise(100000, adv_data=flags + bytes([len(name) + 1, 0x09]) + name)
