"""Dimensions that meet a target: which to change, to what, what that buys, and what the shop's tolerances do to it.

In: A machine, its free dimensions with their bounds, targets and loads.
Out: A proposal with its alternatives, sensitivities and tolerances; a new machine file.
"""
