"""Serves the live pages from this computer, to whom they are meant for and to nobody else.

In: Pages, a port, whether others on the network may join.
Out: Answers to requests that come from these pages, within what their session allows.
"""
