"""The resistance profile: assembled, with bands, budget, repetitions, findings, and its files.

In: A solved fit and the session's stated uncertainties.
Out: A profile estimate; profile.csv and profile.json.
"""
