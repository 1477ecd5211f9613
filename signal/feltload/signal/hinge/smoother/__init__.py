"""The smoother itself: unknowns at knots, equations, robust sparse solution, uncertainty.

In: Prepared inertial data and noise densities.
Out: Rotation at the knots with its covariance.
"""
