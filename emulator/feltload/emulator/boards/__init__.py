"""Emulated boards: what a sensor's electronics puts on the wire, faults included.

In: Samples.
Out: Bytes on a pseudo terminal.
"""
