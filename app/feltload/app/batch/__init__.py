"""Many recordings measured, on all cores or on a cluster, into one dataset.

In: A folder of recordings, or a table of measurements.
Out: A dataset of Parquet files that other programs read, and what failed with its reason.
"""
