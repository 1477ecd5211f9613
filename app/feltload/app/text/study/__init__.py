"""A repeatability study in words.

In: Facts and results of a study.
Out: Sentences, a methods paragraph, a results table.
"""
