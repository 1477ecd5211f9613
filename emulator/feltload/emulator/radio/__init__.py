"""Bluetooth LE sensors without a radio: an emulated BlueZ on a D-Bus of its own, which unmodified bleak talks to.

In: Peripherals with their notifications, and orders such as "drop the connection".
Out: The D-Bus objects, signals and errors that a client sees. Needs the program dbus-daemon and dbus-fast.
"""
