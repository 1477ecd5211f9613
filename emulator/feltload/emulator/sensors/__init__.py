"""Emulated sensors: classes of load cells and inertial sensors, their errors, filters, clocks and delays.

In: True motion and force on a fine grid, and a seed.
Out: Counts and words with device time, and when each arrives.
"""
