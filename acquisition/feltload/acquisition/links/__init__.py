"""Where bytes come from: serial ports, Bluetooth peripherals, sockets and programs, opened, watched and reopened.

In: A port, an address, a name or a command from a stream description.
Out: Arrivals: bytes with the host's time, and links that went down or came up.
"""
