"""A repeatability study: from the file that names its measurements to statistics and tables.

In: A study file; recordings, results or a table of them.
Out: Statistics by quantity and load, along the curve, and what would have to be measured for what is wanted.
"""
