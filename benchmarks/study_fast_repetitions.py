"""Force that the profile predicts for brisk repetitions, at loads measured and not, against the true machine.

    python benchmarks/study_fast_repetitions.py --pairs 6

Each pair: recordings of 20 and 40 kg, mixed tempo, ordinary sensors, make a profile; another session's true motion at a
brisk tempo is put through it and through the emulated machine. Root mean square above 0.5 rad/s.
"""

from __future__ import annotations

import argparse

import numpy as np

from feltload.emulator import scenario, simulate
from feltload.emulator.machines.dynamics import required_pull_n
from feltload.signal.pipeline import estimate
from rig_session import reference_of, session_of

MACHINES = ("four-bar", "cam-drum", "fixed-pull")
MEASURED_KG = (20.0, 40.0)
PREDICTED_KG = (10.0, 20.0, 40.0, 60.0)
SLOWEST_RAD_S = 0.5


def _errors_n(name: str, pair: int) -> list[float]:
    """Root mean square error at each load, N."""
    runs = [simulate(scenario(name, load_kg=load), seed=10 * pair + k) for k, load in enumerate(MEASURED_KG)]
    sessions = [session_of(run, f"{load:g} kg") for run, load in zip(runs, MEASURED_KG, strict=True)]
    profile = estimate(sessions, reference=reference_of(runs[0]))
    errors = []
    for load in PREDICTED_KG:
        run = simulate(scenario(name, tempo="brisk", load_kg=load), seed=900 + pair)
        motion = run.truth.iloc[::20]
        q, rate, accel = (motion[column].to_numpy() for column in ("q_rad", "rate_rad_s", "accel_rad_s2"))
        scene = run.scenario
        truth = required_pull_n(scene.machine, q, rate, accel, load, scene.gravity_m_s2)
        error = (profile.force_n(q + run.start_angle_rad, rate, accel, load) - truth)[
            np.abs(rate) > SLOWEST_RAD_S
        ]
        errors.append(float(np.sqrt(np.nanmean(error**2))))
    return errors


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--pairs", type=int, default=6)
    pairs = parser.parse_args().pairs
    print("| machine | " + " | ".join(f"{load:g} kg, N" for load in PREDICTED_KG) + " |")
    print("|" + " --- |" * (1 + len(PREDICTED_KG)))
    for name in MACHINES:
        rms = np.sqrt(np.mean(np.square([_errors_n(name, pair) for pair in range(pairs)]), axis=0))
        print(f"| {name} | " + " | ".join(f"{value:.2f}" for value in rms) + " |", flush=True)


if __name__ == "__main__":
    main()
