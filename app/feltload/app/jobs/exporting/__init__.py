"""Recordings for other programs: joined tables, C3D, BIDS.

In: A recording.
Out: Files on one clock, with events and what is known of the session.
"""
