"""Survey plan: what matters most first, and uncertainties that suffice."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.model_band import model_band
from feltload.calibration.machine.parameters import START_ANGLE, ParameterKey
from feltload.calibration.machine.survey import example_text, plan_survey


def test_survey_ranks_what_matters() -> None:
    plan = plan_survey(parse_machine(example_text("lever")), see_percent=2.0)
    keys = [item.parameter.key for item in plan.items]
    assert set(keys[:2]) == {ParameterKey("radius", "plates"), ParameterKey("angle", "plates")}
    at_rest = {item.parameter.key: item.matters for item in plan.items}
    # At a given rotation the force at rest does not depend on how the angle is counted, nor on how mass is spread.
    assert not at_rest[START_ANGLE]
    assert not at_rest[ParameterKey("gyration_radius", "arm")]
    assert at_rest[ParameterKey("radius", "plates")]


def test_needed_uncertainties_are_enough() -> None:
    machine = parse_machine(example_text("four-bar"))
    plan = plan_survey(machine, see_percent=2.0, travel_rad=np.radians(60))
    needed = {item.parameter.key: item.needed_u for item in plan.items}
    shapes = model_band(
        machine, np.radians(np.linspace(0, 60, 41)), np.array([40.0]), 9.80665, 0.0, trials=200
    )
    scale = [min(needed[p.key] / p.u, 1.0) if p.u else 0.0 for p in machine.parameters]
    band = 1.96 * np.sqrt(np.sum((shapes.shapes_n * scale) ** 2, axis=1)).max() / np.abs(shapes.force_n).max()
    assert band <= 0.02


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_every_kind_has_an_example_and_a_plan(kind: str) -> None:
    machine = parse_machine(example_text(kind))
    assert machine.mechanism.kind == kind
    plan = plan_survey(machine, travel_rad=np.radians(60))
    assert {item.parameter for item in plan.items} == {p for p in machine.parameters if p.u > 0.0}
    assert sum(item.share for item in plan.items) == pytest.approx(1.0)


def test_unknown_kind() -> None:
    with pytest.raises(MachineError, match='known are "lever"'):
        example_text("crane")
