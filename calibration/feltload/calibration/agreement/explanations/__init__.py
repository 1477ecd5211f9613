"""What explains a difference: causes that a machine, a survey or a recording has, competing on one evidence.

In: A joint comparison that differs.
Out: The smallest set of causes that explains it, and those tied with it.
"""
