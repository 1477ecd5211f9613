"""A predicted machine in words, and whether a curve meets its target.

In: Predictions and judgements.
Out: Sentences, headings, captions.
"""
