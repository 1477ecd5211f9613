"""Questions put in a terminal, or to a list of answers from a script.

In: A person at a keyboard, or answers one a line.
Out: A machine file and its drawing.
"""
