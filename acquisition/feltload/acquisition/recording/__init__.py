"""What arrived, on disk: one append-only file with marks and what a person said of the session.

In: Arrivals, marks, descriptions, certificates; or a file, whole or cut.
Out: Recordings, streams in SI with unit-suffixed columns, and facts about what a damaged file lost.
"""
