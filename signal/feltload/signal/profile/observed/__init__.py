"""What the fit shows of the machine beside its static profile, for a comparison with a machine file.

In: The final fit.
Out: Felt inertia by thirds of the travel, with its covariance; both on disk.
"""
