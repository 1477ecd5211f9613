"""Many machines computed at once are the same machines computed one by one."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.machine.survey import example_text
from machine_texts import ADD_ONS

G = 9.80665
LOADS_KG = (20.0, 60.0)


@pytest.mark.parametrize("kind", [*sorted(MECHANISMS), "lever, everything on it"])
def test_at_once_as_one_by_one(kind: str) -> None:
    text = example_text(kind.split(",")[0]) + (ADD_ONS if "," in kind else "")
    machine = parse_machine(text)
    q = np.radians(np.linspace(0.0, 45.0, 7))
    rng = np.random.default_rng(1)
    some = rng.permutation([p for p in machine.parameters if p.u > 0.0])  # type: ignore[arg-type]
    for moved in (some, some[:1]):
        changed = {p.key: p.value + 0.5 * p.u * rng.standard_normal(5) for p in moved}
        many = machine.midway_forces_of_many_n(q, LOADS_KG, G, changed)
        assert many.shape == (5, 2, 7)
        for i, found in enumerate(many):
            one = machine.midway_forces_n(
                q, LOADS_KG, G, changed={k: float(v[i]) for k, v in changed.items()}
            )
            assert np.allclose(found, one, rtol=1e-12)


def test_those_that_cannot_be_assembled_are_left_out() -> None:
    machine = parse_machine(example_text("four-bar"))
    key = ParameterKey("rocker_length")
    q = np.radians(np.linspace(0.0, 45.0, 7))
    lengths = np.array([0.4, 0.05, 0.41, 0.39, 0.06])
    found = machine.midway_forces_of_many_n(q, LOADS_KG, G, {key: lengths})
    assert np.isnan(found).all(axis=(1, 2)).tolist() == [False, True, False, False, True]
    assert np.allclose(found[2], machine.midway_forces_n(q, LOADS_KG, G, changed={key: 0.41}), rtol=1e-12)
    with pytest.raises(GeometryError, match="rocker 50 mm"):
        machine.midway_forces_n(q, LOADS_KG, G, changed={key: 0.05})
