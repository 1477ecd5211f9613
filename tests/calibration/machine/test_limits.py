"""Sizes that no machine has: refused where the file is read, with the reason."""

from __future__ import annotations

import pytest

import study_agreement as study
from feltload.calibration.errors import MachineError
from feltload.calibration.machine.file import parse_machine


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('"655(2) mm"', '"640 m"', "lever.handle_radius"),
        ('"655(2) mm"', '"-655(2) mm"', "lever.handle_radius"),
        ('"655(2) mm"', '"0 mm"', "lever.handle_radius"),
        ('"270(3) mm"', '"270(3) m"', "lever.mass[2].radius"),
        ('"9.50(0.10) kg"', '"-9.5 kg"', "lever.mass[1].mass"),
        ('"0(0.5) deg"', '"95 deg"', "lever.hinge_inclination"),
    ],
)
def test_a_size_that_no_machine_has(old: str, new: str, where: str) -> None:
    assert old in study.LEVER
    with pytest.raises(MachineError) as caught:
        parse_machine(study.LEVER.replace(old, new), "row.toml")
    assert where in str(caught.value)
    assert new.strip('"') in str(caught.value)
    assert "cannot be: " in str(caught.value)
    assert "check the number and its unit" in str(caught.value)
