"""Everything that was measured, compared with the machine file at once: force, felt inertia, tilt, free swing.

In: A profile estimate, a machine, perhaps a free swing.
Out: One vector of observations with its covariance, and what any change of the machine predicts for it.
"""
