"""What a person can produce: holds, repetitions or a table to a capacity curve.

In: Holds, maximal repetitions, tables.
Out: Capacity by angle with its band.
"""
