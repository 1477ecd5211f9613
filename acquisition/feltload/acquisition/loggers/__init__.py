"""Files of a user's own logger: how they are laid out, what their columns mean, and a recording made of them.

In: CSV files of a load cell, an inertial sensor, or both.
Out: A recording that holds their samples in SI, and the files as they were.
"""
