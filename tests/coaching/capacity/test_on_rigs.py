"""Capacity measured on emulated rigs by a person whose strength is known."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import (
    CapacityError,
    CapacityFact,
    PersonMotion,
    capacity_from_holds,
    find_holds,
    person_motion,
)
from feltload.emulator import Person, SimulatedRun, scenario, simulate
from feltload.signal.session import Reference
from profiled_rigs import session_of


def _held(
    machine: str, sensors: str, shares: tuple[float, ...], seed: int, repetitions: int = 3
) -> tuple[PersonMotion, SimulatedRun]:
    person = Person(repetitions=repetitions, holds=shares)
    run = simulate(scenario(machine, sensors=sensors, tempo="brisk", person=person), seed=seed)
    return person_motion(session_of(run), Reference(machine, run.start_angle_rad, 0.0)), run


def _true_n(run: SimulatedRun, angle_rad: np.ndarray) -> np.ndarray:
    share = (angle_rad - run.start_angle_rad) / run.scenario.machine.travel_rad
    return run.scenario.capacity.force_n(share)


@pytest.mark.parametrize(
    ("machine", "sensors"), [("lever-row", "ordinary"), ("rising-arm", "cheap"), ("over-the-top", "ordinary")]
)
def test_curve_is_within_its_band_of_the_persons_strength(machine: str, sensors: str) -> None:
    inside = []
    for seed in range(4):
        motion, run = _held(machine, sensors, (0.05, 0.3, 0.55, 0.8, 0.95), seed)
        holds, left_out = find_holds(motion.time_s, motion.angle_rad, motion.force_n)
        assert len(holds) == 5
        # The brisk repetitions after the holds are neither holds nor failed ones.
        assert left_out == ()
        curve = capacity_from_holds(holds)
        inside.append(np.abs(curve.force_n - _true_n(run, curve.angle_rad)) <= curve.u95_n)
    assert np.concatenate(inside).mean() >= 0.95


def test_repetitions_alone_are_no_holds() -> None:
    motion, _ = _held("lever-row", "ordinary", (), 3, repetitions=5)
    with pytest.raises(CapacityError, match="only moving repetitions"):
        find_holds(motion.time_s, motion.angle_rad, motion.force_n)


def test_painful_positions_are_left_out_of_the_curve() -> None:
    motion, _ = _held("lever-row", "ordinary", (0.05, 0.3, 0.55, 0.8, 0.95), 2)
    holds, _ = find_holds(motion.time_s, motion.angle_rad, motion.force_n)
    sore = (holds[-1].angle_rad - 0.02, holds[-1].angle_rad + 0.02)
    curve = capacity_from_holds(holds, painful=[sore])
    assert curve.angle_rad[-1] < sore[0]
    assert CapacityFact.PAINFUL_HOLDS_UNUSED in [fact.kind for fact in curve.warnings]
