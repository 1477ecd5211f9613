"""What a person wants to do, and the command that does the next part of it with what is there.

In: A goal, files of a folder, ports.
Out: The next command and why.
"""
