"""Tables in and out: CSV of a user's own logger, exports to CSV, Parquet and C3D.

In: A logger's files, or a recording.
Out: A recording, or files that other programs read.
"""
