"""The verdict: measurement against model, and which dimension explains the difference.

In: A profile estimate and a machine.
Out: E_n along the travel, one verdict, fitted dimensions.
"""
