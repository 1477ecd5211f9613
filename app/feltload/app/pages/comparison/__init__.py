"""The page that compares machines or days.

In: A comparison.
Out: Views and figures for the page.
"""
