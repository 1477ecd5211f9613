"""The difference of two measured profiles.

In: Two profiles, and what their errors have in common.
Out: A difference by angle with its covariance and the band of the whole curve.
"""
