"""What a page shows of a recording that runs, as data: computed here, drawn and said elsewhere; no web library.

In: The recorder's events.
Out: `LiveState`, whole, with a version; `Moving`, small, many times a second; commands passed on.
"""
