"""Emulated machines: levers, linkages and their friction, by Lagrange's equation.

In: A name of the catalogue, or masses and radii.
Out: The pull that a motion requires; a free swing.
"""
