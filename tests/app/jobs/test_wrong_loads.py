"""Emulated levers through the whole chain, recording to verdict: a wrong load is named, a right one is not.

`benchmarks/study_wrong_load.py` does the same over more machines, sensors and loads, and with wrong machine files.
"""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition import import_csv
from feltload.app.jobs.machine_check import check_measured
from feltload.app.jobs.measuring.measurement import measure
from feltload.calibration import AgreementFact
from feltload.emulator import machine_toml, peg_moved, scenario, simulate, write_logger_files


def said_of(folder, machine, sensors, true_kg, stated_kg, seed, *, out_m=0.0):
    """Loads that profile names as wrong, and what check's explanation has."""
    scene = scenario(machine, sensors=sensors, load_kg=true_kg, systematic=True)
    survey = machine_toml(scene, rng=np.random.default_rng(seed))
    run = simulate(peg_moved(scene, out_m) if out_m else scene, seed=seed)
    write_logger_files(run, folder)
    files = folder / "force.csv", folder / "imu.csv", folder / "a.mcap"
    import_csv(*files, load_kg=stated_kg, load_u_kg=0.002 * stated_kg, machine_toml=survey)
    made = measure([folder / "a.mcap"])
    named = [fact for fact in made.estimate.warnings if fact.kind == AgreementFact.LOAD_LOOKS_LIKE]
    check = check_measured(made.estimate, made.provenance, made.machine)
    return named, check.agreement.explanation


@pytest.mark.parametrize(
    ("machine", "sensors", "true_kg", "stated_kg"),
    [
        ("lever-row", "ordinary", 40.0, 35.0),
        ("rising-arm", "cheap", 10.0, 15.0),
        ("fixed-pull", "cheap", 25.0, 45.0),
    ],
)
def test_a_wrong_load_is_named_by_profile_and_check(tmp_path, machine, sensors, true_kg, stated_kg):
    (fact,), explanation = said_of(tmp_path, machine, sensors, true_kg, stated_kg, seed=int(true_kg))
    assert fact.figure("stated_kg") == stated_kg
    assert abs(fact.figure("looks_like_kg") - true_kg) < 1.6 * fact.figure("u95_kg")
    assert [load.stated_kg for load in explanation.loads] == [stated_kg]


def test_a_right_load_is_left_alone(tmp_path):
    named, explanation = said_of(tmp_path, "over-the-top", "cheap", 80.0, 80.0, seed=3)
    assert not named
    assert not explanation.loads


def test_a_peg_elsewhere_is_not_blamed_on_the_load_alone(tmp_path):
    named, explanation = said_of(tmp_path, "lever-row", "ordinary", 40.0, 40.0, seed=4, out_m=0.02)
    assert all(fact.figures["tied"] for fact in named)
    assert explanation.causes or explanation.tied
