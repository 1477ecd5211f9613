"""A client's folder: results kept over time, and whether one changed by more than noise.

In: Results of one client, each with its date.
Out: Records on disk; changes against measurement noise.
"""
