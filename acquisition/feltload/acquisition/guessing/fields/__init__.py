"""Fields of frames whose layout nobody stated, and what they mean: counter, clock, axes, force.

In: Frames of one length, or columns of lines, with their arrival.
Out: Keys of a stream's description, and facts about how they were found.
"""
