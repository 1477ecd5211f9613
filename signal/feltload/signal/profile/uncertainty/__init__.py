"""What the band is made of: correlated residuals and every systematic source.

In: A solved fit and what the session states.
Out: A covariance and a budget.
"""
