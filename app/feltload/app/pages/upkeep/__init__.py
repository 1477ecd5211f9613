"""The page of a machine over time.

In: What a machine's log says.
Out: A view and figures for the page.
"""
