"""The commands that a person begins with: start, doctor, demo.

In: What is there: files, ports, the computer.
Out: What to do next, and whether anything stops it.
"""
