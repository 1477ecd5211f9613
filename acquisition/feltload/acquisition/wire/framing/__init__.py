"""Where frames and lines are in a flow of bytes, whole ones next to damaged ones.

In: Arrivals, and the keys of a description that say how they are cut.
Out: Pieces: start, length and message of each frame or line; what lay between them.
"""
