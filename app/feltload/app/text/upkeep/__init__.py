"""A machine's state over time in words.

In: What a machine's log says.
Out: Sentences.
"""
