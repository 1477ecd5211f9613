"""What designs find, in words.

In: Facts of cams.
Out: Sentences.
"""
