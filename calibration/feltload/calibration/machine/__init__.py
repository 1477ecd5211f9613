"""The machine as surveyed: its file, mechanisms, model with band, survey plan, drawing.

In: A machine file (TOML).
Out: Predicted force at the handle, sensitivities, a side view.
"""
