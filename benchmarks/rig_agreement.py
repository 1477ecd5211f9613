"""One agreement check on an emulated machine through the whole chain: sensors, clocks, hinge, profile, survey.

Two loads on one machine with one load cell: gain and machine file are drawn once, everything else (load weighed,
zero and drift, clocks, rates, mounting, noise, the person) once for each recording.
"""

from __future__ import annotations

import numpy as np

from feltload.calibration import START_ANGLE, Gravity, ParameterKey, check_agreement, parse_machine
from feltload.core import STANDARD_GRAVITY_M_S2
from feltload.emulator import machine_toml, peg_moved, scenario, simulate
from feltload.signal import Reference, estimate
from rig_session import same_cell, session_of

MACHINE = "lever-row"
PEG = ParameterKey("radius", "plates")
LOADS_KG = (20.0, 40.0)


GRAVITY = Gravity(STANDARD_GRAVITY_M_S2, 3e-4, "emulated room")
"""As a place with known latitude has it."""


def emulated_case(
    seed: int, error_m: float, *, sensors: str = "ordinary", tempo: str = "mixed"
) -> dict[str, object]:
    """Verdict, named dimensions and normalised errors of one drawn case.

    Parameters
    ----------
    seed : int
        Of everything drawn.
    error_m : float
        How much further out than surveyed the plates' peg is.
    sensors, tempo : str
        Classes of the emulated rig.
    """
    scenes = [
        scenario(MACHINE, sensors=sensors, tempo=tempo, load_kg=load, systematic=True) for load in LOADS_KG
    ]
    survey = parse_machine(machine_toml(scenes[0], rng=np.random.default_rng([seed, 1])))
    true_machine = parse_machine(machine_toml(peg_moved(scenes[0], error_m) if error_m else scenes[0]))
    runs = [
        simulate(peg_moved(scene, error_m) if error_m else scene, seed=1000 * seed + k)
        for k, scene in enumerate(scenes)
    ]
    runs = [same_cell(run, runs[0]) for run in runs]
    start = survey.start_angle
    reference = Reference(survey.name, start.value, survey.parameter(START_ANGLE).u)
    sessions = [session_of(run, f"{load:g} kg") for run, load in zip(runs, LOADS_KG, strict=True)]
    measured = estimate(sessions, reference=reference)
    result = check_agreement(measured, survey, gravity=GRAVITY)
    truth = true_machine.values
    misses = {d.key: (d.value - truth[d.key]) / d.u for d in result.fitted if d.key in truth}
    shifts = {d.key: d.shift for d in result.fitted}
    return {
        "verdict": result.verdict,
        "changed": result.changed,
        "explained": result.explained,
        "misses": misses,
        "en_above_1": float(np.mean(np.abs(result.en) > 1.0)),
        "agreement": result,
        "p_value": result.test.p_value,
        "peg_shift_mm": 1e3 * shifts[PEG],
        "band_percent": result.band_percent,
    }
