# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # For a scientist: named axes, and repeatability
# Invented throughout: predicted profiles, and measurements drawn at random
# with a known scatter.

# %%
import numpy as np
from matplotlib import pyplot as plt

from feltload.calibration import (
    example_text,
    parse_machine,
    predict_profile,
)
from feltload.coaching import (
    analyse_quantity,
    compare_paired_curves,
    curve_repeatability,
    measurements_to_average,
)
from feltload.signal import profile_dataset

# %% [markdown]
# ## Several loads as one array
# Each load and position by its name, each variable with its unit.

# %%
machine = parse_machine(example_text("lever"))
prediction = predict_profile(
    machine,
    travel_rad=np.radians(70.0),
    loads_kg=np.array([20.0, 40.0, 60.0]),
)
data = profile_dataset(prediction.estimate).swap_dims(
    position="travel_percent"
)
data["static_n"].to_pandas().iloc[:, ::20].round(1)

# %%
per_kg = data["static_n"].diff("load_kg") / data["load_kg"].diff(
    "load_kg"
)
per_kg.attrs = {
    "long_name": "force added by each kilogram",
    "units": "N/kg",
}
figure, ax = plt.subplots(layout="constrained")
lines = per_kg.isel(load_kg=0).plot(ax=ax)
title = ax.set_title("Invented lever: what one more kilogram adds")

# %% [markdown]
# ## How repeatable is the peak?
# Ten machines, each measured on three days: machines differ with a standard
# deviation of 15 N, days with one of 2 N.

# %%
rng = np.random.default_rng(1)
peaks_n = (
    240.0
    + rng.normal(0.0, 15.0, (10, 1))
    + rng.normal(0.0, 2.0, (10, 3))
)
labels = {
    "machine": [
        f"machine {m}" for m in range(10) for _ in range(3)
    ],
    "day": [f"day {d}" for _ in range(10) for d in range(1, 4)],
}
analysis = analyse_quantity(peaks_n.ravel(), labels, unit="N")
analysis

# %%
ax = analysis.plot()

# %%
analysis.to_frame().round(3)

# %% [markdown]
# The first two days against one another, and how many measurements have to be
# averaged for a difference of 4 N to be more than 95 % of unchanged pairs
# show.

# %%
print(analysis.pairs[0].limits)
print(
    measurements_to_average(analysis.sem.value, 4.0),
    "measurements for a minimal difference of 4 N",
)

# %% [markdown]
# ## And along the curve
# The same machines as whole curves, with errors that change slowly along the
# travel. The second day has 3 N more at the end.

# %%
percent = data["travel_percent"].to_numpy()
shapes = np.exp(
    -0.5
    * ((percent - np.linspace(0.0, 100.0, 6)[:, None]) / 15.0) ** 2
)
curves_n = data["static_n"].sel(
    load_kg=40.0
).to_numpy() + rng.normal(0.0, 6.0, (10, 1, 1))
curves_n = curves_n + rng.normal(0.0, 1.0, (10, 2, 6)) @ shapes
curves_n[:, 1] += 3.0 * (percent > 80.0)
along = curve_repeatability(
    curves_n.reshape(20, -1), np.repeat(np.arange(10), 2), unit="N"
)
along

# %%
test = compare_paired_curves(curves_n[:, 1], curves_n[:, 0])
figure, ax = plt.subplots(layout="constrained")
line = ax.plot(
    percent,
    test.difference,
    label="second day minus first, mean of ten machines",
)
where = ax.fill_between(
    percent,
    0.0,
    test.difference,
    where=test.established,
    alpha=0.25,
    label="established over the whole curve, 5 %",
)
labels = ax.set(
    xlabel="part of the travel, %",
    ylabel="difference of static force, N",
)
legend = ax.legend(loc="upper left", frameon=False)
print(f"p = {test.p:.3f} in {test.arrangements} arrangements")
