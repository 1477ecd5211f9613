"""Known forces: local gravity, air buoyancy, dead weights.

In: A place, masses and air.
Out: Forces in N with their uncertainty.
"""
