"""Tables out: exports to CSV, Parquet and C3D.

In: A recording.
Out: Files that other programs read.
"""
