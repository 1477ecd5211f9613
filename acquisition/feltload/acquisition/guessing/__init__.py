"""What an unknown sensor sends, found out from its bytes: framing, check value, fields, clock, scale.

In: What arrived on a link in some seconds.
Out: A guess: stream descriptions to record with, how sure they are, and what a person still has to say.
"""
