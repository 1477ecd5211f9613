"""Emulated boards: what a sensor's electronics puts on the wire, faults included.

In: A drawn session and the faults wanted.
Out: Bytes on pseudo terminals in real time, and the rig file that names their ports.
"""
