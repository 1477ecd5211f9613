"""Machine files: what is read, and what is said about what cannot be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import machine_texts as texts
from feltload.calibration.errors import MachineError
from feltload.calibration.machine.file import load_machine, parse_machine
from feltload.calibration.machine.parameters import ParameterKey


def test_reads_values_uncertainties_and_units() -> None:
    machine = parse_machine(texts.LEVER)
    radius = machine.parameter(ParameterKey("radius", "plates"))
    assert radius.value == pytest.approx(0.27)
    assert radius.u == pytest.approx(0.003)
    assert radius.unit == "mm"
    assert machine.start_angle.value == pytest.approx(np.radians(-25))


def test_default_uncertainty_is_marked() -> None:
    machine = parse_machine(texts.LEVER.replace('"655(2) mm"', '"25.8 in"'))
    handle = machine.parameter(ParameterKey("handle_radius"))
    assert handle.u_is_default
    assert handle.u == pytest.approx(0.002)
    assert not machine.parameter(ParameterKey("radius", "arm")).u_is_default


def test_changed_dimensions_leave_the_original_alone() -> None:
    machine = parse_machine(texts.LEVER)
    moved = machine.with_parameters({ParameterKey("radius", "plates"): 0.3})
    assert machine.values[ParameterKey("radius", "plates")] == pytest.approx(0.27)
    assert moved.static_force_n(np.zeros(1), 40.0)[0] > machine.static_force_n(np.zeros(1), 40.0)[0]
    with pytest.raises(MachineError, match=r'did you mean "plates.radius"'):
        machine.with_parameters({ParameterKey("radios", "plates"): 0.3})


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "handle_radius",
            "handle_radios",
            r'm.toml: lever.handle_radios: unknown key .* did you mean "handle_radius"',
        ),
        ('"380(3) mm"', '"380(3) kg"', r'm.toml: lever.mass\[1\].radius: "380\(3\) kg" is not a length'),
        ('"655(2) mm"', "655", r'm.toml: lever.handle_radius: "655" has no unit'),
        ('mass = "9.50(0.10) kg"\n', "", r"m.toml: lever.mass\[1\].mass: missing"),
        ('mechanism = "lever"', 'mechanism = "crane"', r'"crane" is not a mechanism; known are "lever"'),
        ("[lever]", "[lever", "m.toml: is not TOML"),
        ('name = "plates"', 'name = "arm"', "the name is given twice"),
        ('radius = "270(3) mm"\n', "", r'm.toml: "plates": radius missing'),
        ("[lever]", "[sled]", r"table \[sled\] in the file of a lever"),
        ('name = "plates"', 'name = "plates"\non = "rope"', 'on = "rope" is not a link; known are "arm"'),
    ],
)
def test_one_clear_line(old: str, new: str, said: str) -> None:
    with pytest.raises(MachineError, match=said) as caught:
        parse_machine(texts.LEVER.replace(old, new, 1), "m.toml").static_force_n(np.zeros(1), 1.0)
    assert "\n" not in str(caught.value)


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="no such machine file"):
        load_machine(tmp_path / "none.toml")
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(MachineError, match="is not UTF-8 text"):
        load_machine(tmp_path / "binary.toml")


def test_cam_and_drum_exclude_each_other() -> None:
    with pytest.raises(MachineError, match="give either drum_radius or cam"):
        parse_machine(texts.CABLE.replace("[cable]", '[cable]\ndrum_radius = "90 mm"'))
