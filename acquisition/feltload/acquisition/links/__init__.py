"""Where bytes come from: serial ports and Bluetooth peripherals, opened, watched and reopened.

In: A port, an address or a name from a stream description.
Out: Arrivals: bytes with the host's time, and links that went down or came up.
"""
