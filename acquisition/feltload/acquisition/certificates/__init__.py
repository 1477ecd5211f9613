"""Certificates of load cells and inertial sensors: their files, and which sensor each belongs to.

In: JSON files made by a calibration.
Out: Certificates that turn counts into SI and state their uncertainty.
"""
