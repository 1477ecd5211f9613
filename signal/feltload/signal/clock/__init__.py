"""One timeline: each sensor's clock against the host's arrivals.

In: Device times, counters and arrival times.
Out: Sample times on the host's timeline with their uncertainty.
"""
