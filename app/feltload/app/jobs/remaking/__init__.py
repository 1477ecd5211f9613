"""Results made again from what their folders keep, and compared with what they were.

In: A folder of results, and where its recordings and other inputs are now.
Out: The measurement or the command's words again; what differs between two folders.
"""
