"""The page of a surveyed machine: its predicted curve, and what each dimension does to it.

In: A survey plan and its machine.
Out: The page; the figures alone.
"""
