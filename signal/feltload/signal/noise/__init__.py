"""What an inertial sensor's readings are worth: noise densities, certificates, filters.

In: Gyro and accelerometer samples, a certificate.
Out: Noise densities and priors for the hinge smoother; filtered signals.
"""
