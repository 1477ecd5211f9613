"""A static profile from a scale that was read by hand at stops.

In: A table of positions and readings, what is known of the scale, and the machine's reference.
Out: A profile with its band; it says nothing of a machine in motion.
"""
