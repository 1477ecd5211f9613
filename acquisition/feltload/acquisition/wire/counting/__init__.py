"""How many samples lie between two that arrived: wraps, holes, restarts.

In: Clock and number of each sample as on the wire, and when its message arrived.
Out: Unwrapped clock and numbers, and what was lost, to the sample or as not known.
"""
