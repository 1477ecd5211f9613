"""The arm's rotation about its hinge, by one least-squares smoother and its streaming twin.

In: Gyro and accelerometer samples on one timeline, noise, priors.
Out: Rotation, rate and acceleration with their uncertainty; what is wrong with the motion.
"""
