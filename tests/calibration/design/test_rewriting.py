"""A machine file with other dimensions: comments stay, values are what was asked for."""

from __future__ import annotations

import math

import numpy as np
import pytest

from feltload.calibration.design.rewriting import rewrite_cam, rewrite_dimensions
from feltload.calibration.errors import DesignError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.survey import example_text


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_every_dimension_can_be_rewritten(kind: str) -> None:
    text = example_text(kind)
    machine = parse_machine(text)
    changed = [
        (p, p.value * 1.01 + 1e-4 * p.per_unit * (p.value == 0.0), 0.001 * p.per_unit)
        for p in machine.parameters
        if p.key.part != "cam" and p.limits.allow(p.value * 1.01) and (p.declared or p.value == 0.0)
    ]
    new = rewrite_dimensions(text, changed, name="another", comments=["proposed"])
    again = parse_machine(new)
    assert again.name == "another"
    assert new.startswith("# proposed\n# An invented machine.")
    values = {p.key: value for p, value, _ in changed}
    for p in again.parameters:
        before = machine.parameter(p.key)
        assert p.value == pytest.approx(values.get(p.key, before.value), rel=1e-9)
        if p.key in values:
            # Evenly within its tolerance: half of it over the root of three.
            assert p.u == pytest.approx(0.001 * p.per_unit / math.sqrt(3.0), rel=0.02)
        else:
            assert p.u == before.u


def test_a_cam_takes_the_place_of_a_drum() -> None:
    text = example_text("cable")
    q = np.radians([0.0, 30.0, 60.0])
    new = parse_machine(rewrite_cam(text, q, np.array([0.1, 0.11, 0.105]), name="another"))
    turns, arms = new.mechanism.cam  # type: ignore[attr-defined]
    assert np.allclose(turns, q) and np.allclose(arms, [0.1, 0.11, 0.105])


def test_a_common_shift_of_a_cam_has_no_place_in_the_file() -> None:
    machine = parse_machine(example_text("cable"))
    offset = next(p for p in machine.parameters if p.key.part == "cam")
    with pytest.raises(DesignError, match="no value of its own"):
        rewrite_dimensions(example_text("cable"), [(offset, 0.001, 0.0001)], name="x")
