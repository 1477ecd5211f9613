"""A machine file made by asking: which questions each kind of mechanism has, and the file that the answers make.

In: Answers as people type them.
Out: A machine file, and the machine so far to draw.
"""
