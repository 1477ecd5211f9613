"""Statistics of repeated measurement: reliability, and the difference of two profiles.

In: Values measured twice or more, or two measured profiles.
Out: Standard error and minimal difference; a difference by angle with its covariance.
"""
