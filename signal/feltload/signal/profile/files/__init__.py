"""A profile on disk: written whole, and read back from any format there was.

In: A profile estimate, or a results folder.
Out: profile.csv, profile.json and model.npz, or the estimate again.
"""
