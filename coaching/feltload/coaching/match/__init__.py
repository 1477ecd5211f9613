"""A machine against a person: demand, limiting position, repetitions, what a change would do.

In: A profile and a capacity curve.
Out: Demand by position and what-ifs.
"""
