"""Emulated machines: levers, linkages, their friction, and a joint that gives, by Lagrange's equation.

In: A name of the catalogue, or masses and radii.
Out: The pull that a motion requires; a free swing.
"""
