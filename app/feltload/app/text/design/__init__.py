"""What designs find, in words.

In: Facts of cams and of proposals.
Out: Sentences.
"""
