"""Drawings for the shop: the dimensioned side view and the cam's outline, as SVG, DXF and a table.

In: A machine on its start stop, and how its dimensions are written.
Out: A sheet of lines and dimensions to scale; files in millimetres.
"""
