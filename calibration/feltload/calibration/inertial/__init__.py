"""Inertial sensors: still attitudes and turns to a certificate; Allan deviation.

In: A recording of still attitudes and turns.
Out: An inertial certificate with noise densities.
"""
