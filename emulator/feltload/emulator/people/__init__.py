"""Emulated persons: how they move and what they can produce.

In: A tempo and dice.
Out: A trajectory.
"""
