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
# # For a designer: the curve before metal is cut
# The machine is the invented example that comes with feltload. What is
# computed here is predicted, not measured: no strength, clearance or guard is
# checked. Parts that carry load are designed and released by somebody
# licensed to, and a prototype is measured before anybody trains on it.

# %%
import numpy as np
from matplotlib import pyplot as plt

from feltload.calibration import (
    ParameterKey,
    example_text,
    free_dimension,
    judge_profile,
    parse_machine,
    parse_target,
    plan_survey,
    predict_profile,
    propose_design,
    side_view,
)

# %% [markdown]
# The machine file gives every dimension with its standard uncertainty. Which
# of them limit what can be predicted?

# %%
machine = parse_machine(example_text("lever"))
travel_rad = np.radians(70.0)
plan_survey(machine, travel_rad=travel_rad)

# %%
prediction = predict_profile(
    machine, travel_rad=travel_rad, loads_kg=np.array([20.0, 40.0])
)
prediction

# %%
ax = prediction.plot()

# %% [markdown]
# ## Does it meet the target?
# The probability that the whole curve lies within the target decides, so that
# the answer may also be that it cannot be determined. Here with 40 kg.

# %%
targets = parse_target("falls 25(5) % from start to end")
_, today = judge_profile(prediction.estimate, targets)
today

# %% [markdown]
# ## Which dimensions would meet it?
# The pin that carries the plates may move, along the arm and around the
# pivot; everything else stays. The search proposes the fewest changes that
# meet the target, in steps that a shop can make.

# %%
radius, angle = (
    machine.parameter(ParameterKey.from_dotted(f"plates.{name}"))
    for name in ("radius", "angle")
)
free = [
    free_dimension(radius, 0.20, 0.35),
    free_dimension(angle, np.radians(-30.0), np.radians(30.0)),
]
proposal = propose_design(
    machine,
    free,
    targets,
    loads_kg=[20.0, 40.0],
    travel_rad=travel_rad,
)
proposal

# %%
ax = proposal.plot()

# %%
figure, axes = plt.subplots(
    1, 2, figsize=(9.0, 4.5), layout="constrained"
)
for ax, each, name in zip(
    axes,
    (machine, proposal.proposed),
    ("today", "proposed"),
    strict=True,
):
    side_view(ax, each, travel_rad=travel_rad, load_kg=40.0)
    ax.set_title(name)

# %% [markdown]
# ## How sure is that?
# The proposed machine, predicted with the uncertainties of its file.

# %%
proposed = predict_profile(
    proposal.proposed,
    travel_rad=travel_rad,
    loads_kg=np.array([20.0, 40.0]),
)
_, then = judge_profile(proposed.estimate, targets)
then
