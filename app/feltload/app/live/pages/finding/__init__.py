"""Finding sensors on the live pages: ports, Bluetooth, unknown ones, and phones that are let in.

In: The bench, taps.
Out: A rig file; phones to choose from; squares to point a phone at.
"""
