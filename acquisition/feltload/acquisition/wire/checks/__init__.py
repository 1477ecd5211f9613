"""Check values of frames and lines: every CRC of the public catalogue, custom ones, sums.

In: A name or the parameters of a check; bytes of one frame, or of many frames of one length.
Out: The check value of each.
"""
