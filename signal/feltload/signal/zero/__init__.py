"""The zero of the force: rests, tare, what a recording says of its own zero, its course afterwards, the cell's limit.

In: Force samples, motion, marks.
Out: Tares, rests and samples at the limit.
"""
