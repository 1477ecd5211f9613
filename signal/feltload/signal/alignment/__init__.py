"""What aligns force and motion: the lag between them, the sign of the lift, both solved with the fit.

In: Grids, readings of the lag.
Out: A lag with its uncertainty and the solved fit.
"""
