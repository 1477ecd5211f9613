"""The page of a predicted machine: curve, drawing, moment arms, targets, variants.

In: What a machine file predicts.
Out: The page; the figures alone.
"""
