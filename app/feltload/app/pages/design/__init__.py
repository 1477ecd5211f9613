"""The page of a proposed design.

In: A proposal or a cam's design.
Out: What the page says and shows.
"""
