"""A machine against a person: demand, limiting position, repetitions, loads, what a change would do.

In: A measured profile as a line over the load, and a capacity curve.
Out: Demand by position and what follows from it, with its uncertainty.
"""
