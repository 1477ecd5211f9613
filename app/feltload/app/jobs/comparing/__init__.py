"""Results compared with one another: positions and errors that they share, differences, repeats.

In: Results of machines, loads or days.
Out: A comparison; records for programs.
"""
