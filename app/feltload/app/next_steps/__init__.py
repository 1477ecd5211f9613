"""The command that comes after each command, with the names of the files at hand filled in.

In: A command, the values of its parameters, its exit code.
Out: The next command line, and why.
"""
