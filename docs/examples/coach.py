# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
# ---

# %% [markdown]
# # For a coach: what a machine asks of one person
# Everything here is invented: an emulated machine, an emulated person. Pain or a maximal effort is for a person who
# is qualified to judge them; a figure here is an estimate.

# %%
import numpy as np

from feltload.coaching import CapacityCurve, CapacitySource, LoadLine, match_capacity
from feltload.emulator import scenario, simulate
from feltload.signal import Reference, Session, estimate

# %% [markdown]
# Two recordings of the emulated machine, with 20 kg and 40 kg; the first two seconds are rest, which gives the zero.

# %%
sessions = []
for seed, load_kg in enumerate((20.0, 40.0)):
    run = simulate(scenario("lever-row", load_kg=load_kg), seed=seed)
    rest = run.force.loc[run.force["host_s"] < 2.0, "force_n"].mean()
    force = run.force.assign(force_n=run.force["force_n"] - rest)
    sessions.append(Session(name=f"{load_kg:g} kg", force=force, inertial=run.inertial, load_kg=load_kg))
profile = estimate(sessions, reference=Reference("invented row", run.start_angle_rad, 0.0))
profile

# %%
profile.plot()

# %% [markdown]
# What the invented person can hold, falling along the travel, known to 5 %.

# %%
angle_rad = profile.angle_rad
force_n = np.linspace(420.0, 300.0, angle_rad.size)
covariance_n2 = np.diag((0.05 * force_n) ** 2)
capacity = CapacityCurve(angle_rad, force_n, covariance_n2, CapacitySource.TABLE, invented=True)
match = match_capacity(LoadLine.of(profile), capacity, 40.0)
match

# %%
match.plot()

# %%
print(profile)
print(match)
