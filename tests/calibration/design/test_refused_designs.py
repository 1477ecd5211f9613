"""Designs that cannot be, or would do something else than meant: refused, or said, by name."""

from __future__ import annotations

import math

import numpy as np
import pytest

from asked_designs import free, lever
from feltload.calibration.design.facts import DesignFact
from feltload.calibration.design.proposing import propose_design
from feltload.calibration.design.room import collisions
from feltload.calibration.errors import DesignError, GeometryError, MachineError, TargetError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.parameters import START_ANGLE, ParameterKey
from feltload.calibration.machine.survey import example_text
from feltload.calibration.target.phrase import parse_target


@pytest.mark.parametrize(
    ("bounds", "target", "error", "words"),
    [
        ({"plates__radius": (330, 200)}, "150(5) N at start", DesignError, "leave it no room"),
        ({"plates__radius": (200, 9000)}, "150(5) N at start", DesignError, "no mass rides"),
        ({"plates__radius": (200, 220, 25)}, "150(5) N at start", DesignError, "does not fit between"),
        ({}, "150(5) N at start", DesignError, "no dimension may move"),
        (
            {"handle_radius": (600, 700)},
            "falls 20(5) % from start to end",
            DesignError,
            "depends on handle_radius",
        ),
        (
            {"arm__gyration_radius": (10, 200), "plates__radius": (200, 300)},
            "150(5) N at start",
            DesignError,
            "no target depends on arm.gyration_radius",
        ),
        ({"plates__radius": (200, 300)}, "150(5) N at 9 m", TargetError, "outside the travel"),
        ({"plates__length": (200, 300)}, "150(5) N at start", MachineError, 'no dimension "plates.length"'),
    ],
)
def test_designs_that_cannot_be_are_refused(bounds, target, error, words) -> None:  # type: ignore[no-untyped-def]
    machine = lever()
    with pytest.raises(error, match=words):
        propose_design(
            machine,
            free(machine, **bounds),
            parse_target(target),
            loads_kg=[40.0],
            travel_rad=math.radians(80.0),
        )


def test_bounds_in_which_no_linkage_closes_are_refused() -> None:
    machine = parse_machine(example_text("four-bar"))
    with pytest.raises(GeometryError, match="none of 257 machines tried can be assembled"):
        propose_design(
            machine,
            free(machine, coupler_length=(50, 90), rocker_length=(50, 90)),
            parse_target("150(5) N at start"),
            loads_kg=[40.0],
            travel_rad=math.radians(50.0),
        )


def test_a_design_comes_together_over_the_whole_travel() -> None:
    # Asked at the start alone, a ground link of 786 mm at 60 degrees would do there and part 36 degrees later.
    machine = parse_machine(example_text("four-bar"))
    q = np.radians(np.linspace(0.0, 50.0, 201))
    found = propose_design(
        machine,
        free(machine, ground_length=(600, 800), ground_angle=(-10, 90)),
        parse_target("150(5) N at start"),
        loads_kg=[40.0],
        travel_rad=q[-1],
    )
    assert np.isfinite(found.proposed.midway_force_n(q, 40.0)).all()


def test_a_proposal_that_runs_away_or_into_something_says_so() -> None:
    machine = lever()
    # Held at the start alone, the plates pass over the hinge within the travel.
    found = propose_design(
        machine,
        free(machine, plates__angle=(60, 85)),
        parse_target("60(10) N at start"),
        loads_kg=[40.0],
        travel_rad=math.radians(80.0),
    )
    assert found.meets
    (fact,) = found.facts
    assert fact.kind == DesignFact.RUNS_AWAY
    ends = np.array([fact.figure("from_rad"), fact.figure("to_rad")])
    assert (found.proposed.midway_force_n(ends, 40.0) <= 0.0).all()
    assert found.proposed.midway_force_n(ends[:1] - 0.05, 40.0)[0] > 0.0
    # A floor 30 cm below the hinge: the handle starts 655 sin 25 = 277 mm below it, and 332 mm with another handle.
    chain = '[[chain]]\nname = "chain"\nradius = "100 mm"\nangle = "0 deg"\ndensity = "1 kg/m"\nlength = "900 mm"\n'
    floored = parse_machine(example_text("lever") + chain + 'floor = "-300 mm"\n')
    longer = floored.with_parameters({ParameterKey("handle_radius"): 0.785})
    (fact,) = collisions(floored, longer, np.radians([0.0, 40.0]))
    assert fact.kind == DesignFact.UNDER_FLOOR
    assert fact.figure("under_m") == pytest.approx(0.785 * math.sin(math.radians(25.0)) - 0.3)
    # A handle on the input link, shorter than the ground link that leaves the same pivot at -10 degrees.
    bar = parse_machine(example_text("four-bar"))
    shorter = bar.with_parameters({ParameterKey("handle_radius"): 0.5, START_ANGLE: math.radians(-20.0)})
    (fact,) = collisions(bar, shorter, np.radians(np.linspace(0.0, 50.0, 51)))
    assert fact.kind == DesignFact.HANDLE_NEAR_FRAME
    assert fact.figure("apart_m") == pytest.approx(0.0, abs=1e-9)
    assert fact.figure("angle_rad") == pytest.approx(math.radians(10.0))


def test_a_dimension_named_twice_is_refused() -> None:
    machine = lever()
    twice = [*free(machine, plates__radius=(200, 300)), *free(machine, plates__radius=(200, 300))]
    with pytest.raises(DesignError, match="given twice"):
        propose_design(machine, twice, parse_target("150(5) N at start"), loads_kg=[40.0], travel_rad=1.0)
