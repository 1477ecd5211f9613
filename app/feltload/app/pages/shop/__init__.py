"""The files of a machine that a shop works from.

In: A machine.
Out: Side view, table of dimensions, a cam's outline, with their words.
"""
