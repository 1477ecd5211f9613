"""What one person can do, is asked for and was given: results of recordings of a person, written and kept.

In: Measured machines, recordings of a person, ranges that hurt.
Out: Capacities, matches and sheets in files, and help as it was delivered.
"""
