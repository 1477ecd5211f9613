"""A partner's hands: help planned by position, help delivered, a set taken apart.

In: A match; a recorded set.
Out: A plan; delivered help with its band.
"""
