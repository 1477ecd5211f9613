"""The report of one measured machine.

In: A profile estimate, an agreement.
Out: Views and figures for the page.
"""
