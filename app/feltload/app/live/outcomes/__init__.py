"""What becomes of closed recordings: a profile, a capacity, help as it was given, a match, a client's sheet.

In: Recordings and results of the working folder.
Out: Files as the commands write them, and what a page shows of each.
"""
