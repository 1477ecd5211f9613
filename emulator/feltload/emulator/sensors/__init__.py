"""Emulated sensors: classes, errors, clocks.

In: A true motion and force.
Out: Samples with errors and delays.
"""
