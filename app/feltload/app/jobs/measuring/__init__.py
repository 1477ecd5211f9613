"""Recordings to a measured profile, with what speaks for and against them.

In: Recordings, a machine file, certificates.
Out: A measurement with its provenance.
"""
