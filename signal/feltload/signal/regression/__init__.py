"""The regression behind the profile: splines, smoothness, rows filtered alike, robust fit, a partner's pushes left out.

In: Grids cut into movements.
Out: Fitted coefficients with their weights.
"""
