"""Bluetooth LE sensors without a radio: an emulated BlueZ on a D-Bus of its own, for unmodified bleak."""
