"""Bytes to frames to fields to samples, and the descriptions that say how.

In: Arrivals, and a stream description (TOML).
Out: Samples with counters and health; a description read and checked.
"""
