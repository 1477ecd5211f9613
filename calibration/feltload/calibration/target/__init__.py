"""A wanted force along the travel with its tolerance, and whether a curve meets it.

In: A phrase, a table or a person's strength; a measured or predicted curve with its covariance.
Out: Targets; whether they contradict one another; met, not met or undetermined, where and by how much.
"""
