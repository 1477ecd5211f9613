"""Random holes in every shipped recording and every emulated machine: right within the band, or refused.

What is true is the emulated machine; `benchmarks/study_holes.py` does the same many times over.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import read_recording
from feltload.core import FeltloadError
from feltload.emulator import (
    cut_recording,
    peg_moved,
    random_holes,
    scenario,
    scenario_names,
    simulate,
    without,
)
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference, Session

RECORDINGS = Path(__file__).parents[2] / "recordings"
SHIPPED = ("lever-row-20kg", "lever-row-40kg", "peg-out-20kg", "peg-out-40kg")
BEYOND_BAND = 2.0


def right_or_refused(session, reference, truth):
    """Whether the profile is right (True) or refused (False); fails when it is silently wrong."""
    try:
        made = estimate([session], reference=reference)
    except FeltloadError as error:
        assert str(error)
        return False
    q = made.angle_rad - reference.start_angle_rad
    assert q[0] > -0.1
    assert q[-1] < truth.machine.travel_rad + 0.1
    error_n = np.abs(made.static_n[0] - truth.static_force_n(q))
    assert np.all(error_n < BEYOND_BAND * made.static_u95_n[0])
    return True


@pytest.mark.parametrize("number, machine", list(enumerate(scenario_names())))
def test_an_emulated_machine_with_random_holes(number, machine):
    rng = np.random.default_rng([12, number])
    run = simulate(scenario(machine, load_kg=40.0), seed=number)
    rest = run.force["force_n"][run.force["host_s"] < 2.0]
    session = Session(
        name=machine,
        force=run.force.assign(force_n=run.force["force_n"] - rest.mean()),
        inertial=run.inertial,
        load_kg=40.0,
        tare_window_s=(0.0, 2.0),
        force_uncertainty=ForceUncertainty(gain=1e-3, zero_n=0.1, gain_stated=True, zero_stated=True),
    )
    stop_s = float(run.inertial["host_s"].iloc[-1])
    cut = replace(session, inertial=without(run.inertial, random_holes(rng, 0.0, stop_s)))
    if number % 2:
        cut = replace(cut, force=without(session.force, random_holes(rng, 0.0, stop_s)))
    right_or_refused(cut, Reference(machine, run.start_angle_rad, 0.0), run.scenario)


@pytest.mark.parametrize("number, name", list(enumerate(SHIPPED)))
def test_a_shipped_recording_with_random_holes(number, name, tmp_path):
    rng = np.random.default_rng([13, number])
    truth = scenario("lever-row", load_kg=20.0 if "20" in name else 40.0)
    truth = peg_moved(truth, 0.015) if name.startswith("peg") else truth
    holes = {
        topic: random_holes(rng, 3.0, 36.0) for topic in ("sensor/inertial", "sensor/force")[: 1 + number % 2]
    }
    cut_recording(RECORDINGS / f"{name}.mcap", tmp_path / "cut.mcap", holes)
    session = Session.from_recording(read_recording(tmp_path / "cut.mcap"), name=name)
    right_or_refused(session, Reference(name, truth.machine.start_angle_rad, 0.0), truth)


@pytest.mark.parametrize("start_s, length_s", [(16.0, 2.0), (14.0, 3.0), (12.0, 5.0), (20.0, 5.0)])
def test_holes_that_once_moved_the_profile_by_whole_turns(start_s, length_s, tmp_path):
    holes = {"sensor/inertial": [(start_s, start_s + length_s)]}
    cut_recording(RECORDINGS / "lever-row-40kg.mcap", tmp_path / "cut.mcap", holes)
    session = Session.from_recording(read_recording(tmp_path / "cut.mcap"), name="cut")
    truth = scenario("lever-row", load_kg=40.0)
    assert right_or_refused(session, Reference("lever", truth.machine.start_angle_rad, 0.0), truth)
