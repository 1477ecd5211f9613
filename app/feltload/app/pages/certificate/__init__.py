"""The page of a calibration certificate.

In: A certificate.
Out: Its HTML page.
"""
