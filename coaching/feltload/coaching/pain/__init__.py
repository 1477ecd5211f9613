"""Ranges marked painful, and the travel that is left to a client.

In: Marks as they were added and removed; the measured travel, and where capacity is known.
Out: Where the client works, which stop or start keeps out, and what is not known.
"""
