"""How well repeated measurements agree, and what their scatter is made of.

In: Values or curves with the machine, operator, day and remount that each belongs to.
Out: Intraclass correlations, standard errors, limits of agreement, variance components, sample sizes; facts.
"""
