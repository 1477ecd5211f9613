"""Statistics of repeated measurement: reliability, differences of two profiles.

In: Two or more measurements.
Out: Repeatability, minimal difference, difference with its band.
"""
