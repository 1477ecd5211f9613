"""Emulated machines: friction, linkages, levers, their dynamics.

In: A catalogue name.
Out: The pull that a motion requires.
"""
