"""How often the agreement check is right, on drawn surveys and drawn measurements.

Every seed draws a true machine around a nominal lever, a survey of it with errors of the stated size, and a measured
profile whose error has the parts of a real session (calibration gain, zero of each load, lever angle, and a smooth
random part). Then either nothing else is wrong, or the plates' peg is surveyed 15 mm from where it is.

    python benchmarks/study_agreement.py --seeds 300

With ``--chain`` the measured profile comes from the emulated rig through clocks, hinge and profile instead.

    python benchmarks/study_agreement.py --chain --first-seed 1000 --seeds 100
"""

from __future__ import annotations

import argparse
import functools
import json
import time
from collections.abc import Callable

import numpy as np

from feltload.app.text.machine.agreement import agreement_text
from feltload.calibration import START_ANGLE, Machine, check_agreement, parse_machine
from feltload.signal import BudgetItem, BudgetSource, ForceModel, Lag, ProfileEstimate, ProfileHealth
from rig_agreement import GRAVITY, PEG, emulated_case

LEVER = """
name = "lever row (invented)"
mechanism = "lever"
start_angle = "-25(0.3) deg"
[lever]
handle_radius = "655(2) mm"
hinge_inclination = "0(0.5) deg"
[[lever.mass]]
name = "arm"
mass = "9.50(0.10) kg"
radius = "380(3) mm"
angle = "-21.0(0.8) deg"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "270(3) mm"
angle = "13.0(0.8) deg"
"""
LOADS_KG = np.array([20.0, 40.0])
TRAVEL_RAD = np.radians(80.0)


def surveyed(truth: Machine, nominal: Machine, rng: np.random.Generator, error_m: float) -> Machine:
    """A survey of the true machine: errors of the stated size, or a blunder of the peg of exactly `error_m`."""
    values = {p.key: truth.values[p.key] + p.u * rng.standard_normal() for p in nominal.parameters}
    if error_m:
        values[PEG] = truth.values[PEG] - error_m
    return nominal.with_parameters(values)


def measured(truth: Machine, start_rad: float, rng: np.random.Generator, angles: int = 61) -> ProfileEstimate:
    """A measured profile of the true machine with correlated errors and their covariance."""
    q = np.linspace(np.radians(3.0), TRAVEL_RAD - np.radians(3.0), angles)
    static = np.array([truth.static_force_n(q, load) for load in LOADS_KG])
    peak = float(static.max())
    slope = np.gradient(static, q, axis=1)
    curves = [
        (BudgetSource.FORCE_GAIN, "", 0.002 * static),
        (BudgetSource.ANGLE_SCALE, "", np.radians(0.05) * slope),
    ]
    for k in range(LOADS_KG.size):
        zero = np.zeros_like(static)
        zero[k] = 0.3
        curves.append((BudgetSource.FORCE_ZERO, f"{LOADS_KG[k]:g} kg", zero))
    near = np.exp(-0.5 * ((q[:, None] - q) / np.radians(8.0)) ** 2) + 1e-9 * np.eye(angles)
    smooth = (0.0007 * peak) ** 2 * np.kron(np.eye(LOADS_KG.size), near)
    covariance = smooth + sum(np.outer(c.ravel(), c.ravel()) for _, _, c in curves)
    error = np.linalg.cholesky(smooth) @ rng.standard_normal(static.size)
    for _, _, curve in curves:
        error = error + curve.ravel() * rng.standard_normal()
    force = static + error.reshape(static.shape)
    label = -slope * np.radians(0.3)
    covariance = covariance + np.outer(label.ravel(), label.ravel())
    ones = np.ones(static.shape, dtype=np.int64)
    zero_line = np.zeros(angles)
    budget = [*curves, (BudgetSource.START_ANGLE, "", label)]
    return ProfileEstimate(
        machine_name="lever row (invented)",
        start_angle_rad=start_rad,
        u_start_angle_rad=np.radians(0.3),
        angle_rad=start_rad + q,
        loads_kg=LOADS_KG,
        static_n=force,
        static_u95_n=1.96 * np.sqrt(np.diag(covariance)).reshape(static.shape),
        friction_n=0.0 * force,
        raising_count=10 * ones,
        lowering_count=10 * ones,
        covariance_n2=covariance,
        inertia_by_load_n_per_rad_s2=0.0 * force,
        lags=(Lag(0.0, 0.0),),
        repetitions=(),
        budget=tuple(BudgetItem(source, curve, session=name) for source, name, curve in budget),
        model=ForceModel(*[zero_line] * 8, viscous_n_per_rad_s=0.0, loads_differ=True),
        angle_rms_u_rad=np.radians(0.05),
        health=ProfileHealth(0.0, 0, 0.0, 0, 6.0),
    )


def one_case(seed: int, error_m: float) -> dict[str, object]:
    """Verdict, named dimensions and normalised errors of one drawn case."""
    rng = np.random.default_rng(seed)
    nominal = parse_machine(LEVER)
    truth = nominal.with_parameters(
        {p.key: p.value + p.u * rng.standard_normal() for p in nominal.parameters}
    )
    survey = surveyed(truth, nominal, rng, error_m)
    estimate = measured(truth, survey.values[START_ANGLE], rng)
    result = check_agreement(estimate, survey, gravity=GRAVITY)
    misses = {d.key: (d.value - truth.values[d.key]) / d.u for d in result.fitted}
    return {
        "verdict": result.verdict,
        "changed": result.changed,
        "misses": misses,
        "en_above_1": float(np.mean(np.abs(result.en) > 1.0)),
        "agreement": result,
    }


def study(
    seeds: int, error_m: float, first: int = 0, case: Callable[[int, float], dict[str, object]] = one_case
) -> dict[str, object]:
    """Rates over many seeds."""
    started = time.perf_counter()
    cases = [case(first + seed, error_m) for seed in range(seeds)]
    misses = {key.dotted: np.array([one["misses"][key] for one in cases]) for key in cases[0]["misses"]}
    return {
        "seeds": seeds,
        "peg_error_mm": 1e3 * error_m,
        "differs": float(np.mean([one["verdict"] == "differs" for one in cases])),
        "inconclusive": float(np.mean([one["verdict"] == "inconclusive" for one in cases])),
        "peg_named_alone": float(np.mean([one["changed"] == (PEG,) for one in cases])),
        "peg_named": float(np.mean([PEG in one["changed"] for one in cases])),
        "points_with_en_above_1": float(np.mean([one["en_above_1"] for one in cases])),
        "fitted_within_2u": {name: float(np.mean(np.abs(miss) < 2.0)) for name, miss in misses.items()},
        "fitted_sd_in_u": {name: float(np.std(miss)) for name, miss in misses.items()},
        "example": agreement_text(cases[0]["agreement"]),
        "seconds_per_case": (time.perf_counter() - started) / seeds,
    }


def main() -> None:
    """Print both studies as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=300)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--chain", action="store_true", help="profiles measured on the emulated rig")
    parser.add_argument("--sensors", default="ordinary", help="sensor class of the emulated rig")
    chosen = parser.parse_args()
    case = functools.partial(emulated_case, sensors=chosen.sensors) if chosen.chain else one_case
    for error_m in (0.0, 0.015):
        print(json.dumps(study(chosen.seeds, error_m, chosen.first_seed, case), indent=1))


if __name__ == "__main__":
    main()
