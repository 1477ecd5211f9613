# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
# ---

# %% [markdown]
# # For a scientist: named axes, and repeatability
# Invented throughout: predicted profiles, and measurements drawn at random with a known scatter.

# %%
import numpy as np
from matplotlib import pyplot as plt

from feltload.calibration import example_text, parse_machine, predict_profile
from feltload.coaching import analyse_quantity
from feltload.signal import profile_dataset

# %%
machine = parse_machine(example_text("lever"))
prediction = predict_profile(machine, travel_rad=np.radians(70.0), loads_kg=np.array([20.0, 40.0, 60.0]))
data = profile_dataset(prediction.estimate)
per_kg = data["static_n"].diff("load_kg") / data["load_kg"].diff("load_kg")
print(data)

# %%
figure, ax = plt.subplots(layout="constrained")
per_kg.swap_dims(position="travel_percent").plot.line(x="travel_percent", ax=ax)
ax.set(xlabel="part of the travel, %", ylabel="force added by each kg, N/kg")

# %% [markdown]
# Ten machines, each measured on three days: machines differ with a standard deviation of 15 N, days with one of 2 N.

# %%
rng = np.random.default_rng(1)
peaks_n = 240.0 + rng.normal(0.0, 15.0, (10, 1)) + rng.normal(0.0, 2.0, (10, 3))
labels = {
    "machine": [f"machine {m}" for m in range(10) for _ in range(3)],
    "day": [f"day {d}" for _ in range(10) for d in range(3)],
}
analysis = analyse_quantity(peaks_n.ravel(), labels)
print(analysis.to_frame().round(3).to_string(index=False))
