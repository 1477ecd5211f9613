"""Causes of a lever, a linkage and a cable machine: what each moves, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from feltload.calibration.agreement.explanation import CauseKind
from feltload.calibration.agreement.explanations.candidates import Candidate, candidates, cause_set, together
from feltload.calibration.agreement.joint.tilt import MeasuredTilt
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import HINGE_INCLINATION, ParameterKey
from machine_texts import ADD_ONS, CABLE, FOUR_BAR, LEVER, SLED, STRAIGHT_PULL

LOADS = np.array([20.0, 40.0])
STATED = (0.002, True)


def _of(machine: Machine, kind: CauseKind, **given: object) -> list[Candidate]:
    return [c for c in candidates(machine, LOADS, STATED, **given) if c.kind is kind]


def test_every_uncertain_dimension_and_every_load_competes() -> None:
    machine = parse_machine(LEVER)
    alone = {c.dimensions[0] for c in _of(machine, CauseKind.DIMENSIONS)}
    assert alone == {p.key for p in machine.parameters if p.u > 0.0}
    assert [c.loads_kg for c in _of(machine, CauseKind.LOAD)] == [(20.0,), (40.0,)]


@pytest.mark.parametrize("text", [LEVER, LEVER + ADD_ONS, FOUR_BAR, CABLE, STRAIGHT_PULL, SLED])
def test_every_mechanism_has_causes_that_leave_a_machine(text: str) -> None:
    machine = parse_machine(text)
    offered = candidates(machine, LOADS, STATED)
    assert {key for c in offered for key in c.dimensions} >= {p.key for p in machine.parameters if p.u > 0.0}
    for candidate in offered:
        shift = 1.0 if candidate.fixed else 0.05
        changed = together([candidate], np.array([shift]), machine, LOADS).values
        assert set(candidate.dimensions) >= set(changed)
        assert all(math.isfinite(value) for value in changed.values())


def test_a_start_elsewhere_turns_every_elevation_of_a_lever() -> None:
    machine = parse_machine(LEVER)
    (start,) = _of(machine, CauseKind.START_STOP)
    # Its unit is half a degree.
    moved = start.change(4.0).values
    assert {key.dimension for key in moved} == {"start_angle", "angle"}
    turns = [moved[key] - machine.values[key] for key in moved]
    assert turns == pytest.approx([math.radians(2.0)] * len(turns))


def test_a_start_elsewhere_moves_a_linkage_as_it_moves() -> None:
    """Forces from the moved start are those of the old one further on."""
    machine = parse_machine(FOUR_BAR)
    (start,) = _of(machine, CauseKind.START_STOP)
    turn = math.radians(4.0)
    q = np.radians([5.0, 20.0])
    moved = machine.with_parameters(start.change(turn / math.radians(0.5)).values)
    assert moved.static_force_n(q, 20.0) == pytest.approx(machine.static_force_n(q + turn, 20.0), rel=1e-6)


def test_the_other_side_mirrors_and_a_sign_turns_round() -> None:
    machine = parse_machine(LEVER)
    whole = max(_of(machine, CauseKind.OTHER_SIDE), key=lambda c: len(c.dimensions))
    signs = max(_of(machine, CauseKind.SIGN), key=lambda c: len(c.dimensions))
    for key in whole.dimensions:
        mirrored = whole.change(1.0).values[key]
        assert math.cos(mirrored) == pytest.approx(-math.cos(machine.values[key]))
        assert math.sin(mirrored) == pytest.approx(math.sin(machine.values[key]))
        assert signs.change(1.0).values[key] == pytest.approx(-machine.values[key])


def test_a_diameter_is_twice_a_radius_and_both_radii_go_together() -> None:
    cam = CABLE[CABLE.index("cam = [") : CABLE.index("handle_radius")]
    machine = parse_machine(CABLE.replace(cam, 'drum_radius = "90(1) mm"\n'))
    key = ParameterKey("drum_radius")
    sizes = {c.change(1.0).values[key] / machine.values[key] for c in _of(machine, CauseKind.DIAMETER)}
    assert sizes == {0.5, 2.0}
    (both,) = _of(machine, CauseKind.BOTH_RADII)
    change = both.change(5.0)
    assert [change.values[k] / machine.values[k] for k in both.dimensions] == pytest.approx([1.1, 1.1])


def test_no_dimension_is_offered_beyond_what_a_survey_gets_wrong() -> None:
    for candidate in _of(parse_machine(LEVER), CauseKind.DIMENSIONS):
        low, high = (candidate.change(end).values for end in (candidate.lowest, candidate.highest))
        (key,) = candidate.dimensions
        parameter = parse_machine(LEVER).parameter(key)
        assert (low[key], high[key]) == pytest.approx(parameter.plausible)


def test_a_cell_without_a_certificate_competes_and_one_with_does_not() -> None:
    machine = parse_machine(LEVER)
    assert not _of(machine, CauseKind.CELL_GAIN)
    (cell,) = [c for c in candidates(machine, LOADS, (0.02, False)) if c.kind is CauseKind.CELL_GAIN]
    assert cell.change(2.0).gain == pytest.approx(1.04)
    # Ten percent at most.
    assert cell.change(cell.highest).gain == pytest.approx(1.1)


def test_a_stated_tilt_that_gravity_contradicts_can_be_what_was_measured() -> None:
    machine = parse_machine(LEVER)
    tilted = [
        c
        for c in _of(machine, CauseKind.DIMENSIONS, tilt=MeasuredTilt(0.5, 0.01, taken=False))
        if c.fixed and c.dimensions == (HINGE_INCLINATION,)
    ]
    assert [c.change(1.0).values[HINGE_INCLINATION] for c in tilted] == [0.5]


def test_a_slip_that_the_sensor_speaks_for_is_likelier() -> None:
    machine = parse_machine(LEVER)
    plain, hinted = (
        max(_of(machine, CauseKind.SIGN, hinted=kind), key=lambda c: len(c.dimensions)).prior
        for kind in (None, CauseKind.SIGN)
    )
    assert hinted - plain == pytest.approx(2.0 * math.log(20.0))


def test_causes_add_up_and_are_reported_with_where_they_lead() -> None:
    machine = parse_machine(LEVER)
    peg = next(
        c for c in _of(machine, CauseKind.DIMENSIONS) if c.dimensions == (ParameterKey("radius", "plates"),)
    )
    light = _of(machine, CauseKind.LOAD)[0]
    shifts = np.array([2.0, -1.0])
    change = together([peg, light], shifts, machine, LOADS)
    # A unit of load is a pair of plates of 2.5 kg.
    assert change.loads_kg == pytest.approx([17.5, 40.0])
    made = cause_set([peg, light], shifts, machine, LOADS)
    assert (made.kind, made.loads_kg, made.looks_like_kg) == (CauseKind.DIMENSIONS, (20.0,), (17.5,))
    (moved,) = made.moved
    assert moved.value == pytest.approx(moved.surveyed.value + 2.0 * moved.surveyed.u)
