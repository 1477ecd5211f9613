"""The recorder as a process of its own, which listeners may join, leave and crash beside.

In: A request; commands of listeners.
Out: A recording, written by this process alone, and events over a local socket.
"""
