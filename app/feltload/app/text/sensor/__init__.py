"""Sensors and their certificates in words.

In: Certificates, the facts in them, and a guided calibration under way.
Out: Sentences for terminal and certificate page.
"""
