"""What runs over minutes: recording, guided calibration, the demo, and what the screen says meanwhile.

In: A rig, a terminal.
Out: Recordings and certificates made while a person works.
"""
