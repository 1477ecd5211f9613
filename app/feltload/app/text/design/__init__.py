"""A design in words: cams, proposed dimensions, drawings for the shop.

In: Results and facts of a design.
Out: Sentences.
"""
