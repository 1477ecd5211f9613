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
# # For a coach: what a machine asks of one person
# Everything here is invented: an emulated machine, an emulated person. The
# figures are estimates of one person on one day. Before a maximal hold, the
# maker's instructions and the facility's rules come first: a partner beside
# the machine, the stops set, lighter holds before it, and an end at the first
# pain. Pain or an injury is for a licensed clinician; no figure here treats
# anything.

# %%
import numpy as np
import pandas as pd

from feltload.coaching import (
    CapacityCurve,
    CapacitySource,
    LoadLine,
    Plates,
    load_for_demand,
    match_capacity,
    plan_help,
)
from feltload.emulator import scenario, simulate
from feltload.signal import Reference, Session, estimate

# %% [markdown]
# ## The machine
# Two recordings of the emulated machine, with 20 kg and 40 kg; the first two
# seconds are rest, which gives the zero.

# %%
sessions = []
for seed, load_kg in enumerate((20.0, 40.0)):
    run = simulate(
        scenario("lever-row", load_kg=load_kg), seed=seed
    )
    rest = run.force.loc[
        run.force["host_s"] < 2.0, "force_n"
    ].mean()
    force = run.force.assign(force_n=run.force["force_n"] - rest)
    sessions.append(
        Session(
            name=f"{load_kg:g} kg",
            force=force,
            inertial=run.inertial,
            load_kg=load_kg,
        )
    )
profile = estimate(
    sessions,
    reference=Reference("invented row", run.start_angle_rad, 0.0),
)
profile

# %%
ax = profile.plot()

# %% [markdown]
# ## The person
# What the invented person can hold, falling along the travel, known to 5 %;
# the last part of the travel hurts.

# %%
angle_rad = profile.angle_rad
force_n = np.linspace(420.0, 300.0, angle_rad.size)
covariance_n2 = np.diag((0.05 * force_n) ** 2)
painful = (
    float(angle_rad[-1] - np.radians(8.0)),
    float(angle_rad[-1]),
)
capacity = CapacityCurve(
    angle_rad,
    force_n,
    covariance_n2,
    CapacitySource.TABLE,
    invented=True,
)
capacity = capacity.marked([painful])
capacity

# %% [markdown]
# ## Both together
# The client works outside the range that hurts.

# %%
line = LoadLine.of(profile)
match = match_capacity(line, capacity, 40.0)
match

# %%
ax = match.plot()

# %% [markdown]
# What would stand on the client's sheet. The suggested load reaches 80 % of
# the capacity where it is scarcest, and is rounded down to plates that are
# there.

# %%
wanted_kg = load_for_demand(line, capacity, 0.8)
plates = Plates((250, 500, 1000, 2000), unit_kg=1.0)
few, many = match.repetitions.low, match.repetitions.high
travel = match.travel.along
low, high = (
    100 * travel.share(end) for end in match.travel.work_rad
)
demand, u95 = (
    100 * match.limiting_demand,
    200 * match.u_limiting_demand,
)
sheet = {
    "works in": f"{low:.0f} to {high:.0f} % of the travel",
    "greatest demand of 40 kg": f"{demand:.0f} ± {u95:.0f} % of capacity",
    "where": travel.said(match.limiting_angle_rad),
    "repetitions to failure": f"{few:.0f} to {many:.0f}",
    "suggested load": f"{plates.up_to(wanted_kg):g} kg",
}
pd.DataFrame({"estimate": sheet})

# %% [markdown]
# ## Help by hand
# With 60 kg, a partner evens out the demand at 70 % of the capacity. Help by
# hand is given only by someone trained in it, clear of the moving load and
# its plates, and ready to take the load when the client stops.

# %%
help_plan = plan_help(line, capacity, 60.0, 0.7)
help_plan

# %%
ax = help_plan.plot()
