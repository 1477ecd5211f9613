"""This computer in words: what it has for measuring, and what to do where it lacks something.

In: Facts of an examination.
Out: Sentences, each fault with its remedy.
"""
