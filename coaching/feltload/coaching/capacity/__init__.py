"""What a person can produce: holds, repetitions or a table to a capacity curve.

In: A recorded session of holds or maximal repetitions, or a table.
Out: Capacity by angle with its covariance; where to hold; left against right.
"""
