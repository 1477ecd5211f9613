"""The one-page sheet for a client.

In: A match, a plan.
Out: Views and figures for the sheet.
"""
