"""Cams: the table of moment arms that gives a wanted curve, and the outline to cut for it.

In: A cable machine and the force wanted along its travel, or its table.
Out: A table, an outline with its curvature, and what speaks against making it.
"""
