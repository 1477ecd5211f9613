# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
# ---

# %% [markdown]
# # For a designer: the curve before metal is cut
# The machine is the invented example of `feltload new machine`. A predicted profile is not a measured one: a prototype
# is measured before anybody trains on it.

# %%
import numpy as np

from feltload.calibration import example_text, judge_profile, parse_machine, parse_target, predict_profile

# %%
machine = parse_machine(example_text("lever"))
prediction = predict_profile(machine, travel_rad=np.radians(70.0), loads_kg=np.array([20.0, 40.0]))
prediction

# %%
prediction.plot()

# %% [markdown]
# Does it meet a target? The band of the prediction decides, so the verdict may also be that it cannot be determined.

# %%
targets = parse_target("falls 25(5) % from start to end")
judgements = judge_profile(prediction.estimate, targets)
print(prediction)
for judgement in judgements:
    print(f"{judgement.load_kg:g} kg: {judgement.verdict}")
