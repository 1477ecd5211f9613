"""Load cells: readings against dead weights to a certificate.

In: Readings, guided or from a file, and the setup.
Out: A force certificate with errors and classes.
"""
