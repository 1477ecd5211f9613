"""Tables out: exports to CSV, Parquet, C3D and BIDS.

In: A recording.
Out: Files that other programs read.
"""
