"""Sizes that no machine has: refused where the file is read, with the reason."""

from __future__ import annotations

import math
import re

import pytest

import study_agreement as study
from feltload.calibration.errors import MachineError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.reference import reference_of
from feltload.calibration.machine.survey import example_text, plan_survey


@pytest.mark.parametrize(
    ("kind", "old", "new", "where", "said"),
    [
        ("lever", "150(10) mm", "-150 mm", "lever.mass[1].gyration_radius", "radius of gyration"),
        ("lever", "-25(0.3) deg", "-25 rad", "start_angle", "within one turn"),
        ("lever", "-25(0.3) deg", "-25 deg ± 55 rad", "start_angle", "nothing was measured"),
        ("lever", "655(2) mm", "655(800) mm", "lever.handle_radius", "nothing was measured"),
        ("four-bar", "250(2) mm", "260 m", "four-bar.input_length", "turns by hand"),
        ("four-bar", "520(2) mm", "0 mm", "four-bar.coupler_length", "a link is between"),
        ("cable", "0.95(0.01)", "0", "cable.efficiency", "passes on a part"),
        ("cable", "0.95(0.01)", "1.2", "cable.efficiency", "passes on a part"),
        ("cable", "0.95(0.01)", "105 %", "cable.efficiency", "passes on a part"),
        ("cable", "pulley_ratio = 2", 'pulley_ratio = "0"', "cable.pulley_ratio", "multiply travel"),
        ("cable", "pulley_ratio = 2", "pulley_ratio = -2", "cable.pulley_ratio", "multiply travel"),
        ("cable", "80(1) mm", "80(1) m", "cable.cam[1]", "a drum, cam or wheel"),
        ("sled", "45(0.5) deg", "95 deg", "sled.incline", "rails rise"),
        ("sled", "45(0.5) deg", "-5 deg", "sled.incline", "rails rise"),
        ("sled", "0.01(0.005)", "-0.2", "sled.rail_friction", "coefficient of friction"),
    ],
)
def test_a_number_without_sense_is_named_with_its_key(
    kind: str, old: str, new: str, where: str, said: str
) -> None:
    text = example_text(kind)
    assert old in text
    with pytest.raises(MachineError) as caught:
        parse_machine(text.replace(old, new), "machine.toml")
    line = str(caught.value)
    assert line.startswith(f"machine.toml: {where}")
    assert said in line


@pytest.mark.parametrize(
    ("kind", "old", "new"),
    [
        ("cable", "0.95(0.01)", "95(1) %"),
        ("cable", "0.95(0.01)", "1"),
        ("lever", "9.50(0.10) kg", "14(0) kg"),
        ("lever", "655(2) mm", "655 mm ± 5 %"),
        ("four-bar", "400(2) mm", "4000(2) mm"),
    ],
)
def test_what_people_write_is_read(kind: str, old: str, new: str) -> None:
    text = example_text(kind)
    assert old in text
    assert parse_machine(text.replace(old, new, 1)).mechanism.kind == kind


BARE = """name = "row"
mechanism = "lever"
start_angle = "-25(0.3) deg"
[lever]
handle_radius = "655(2) mm"
"""
FIXED = BARE + '[[lever.mass]]\nname = "arm"\nmass = "9 kg"\nradius = "400 mm"\nangle = "-25 deg"\n'


def test_a_profile_needs_the_start_angle_and_the_handle_alone() -> None:
    reference = reference_of(parse_machine(BARE))
    assert reference.start_angle_rad == pytest.approx(math.radians(-25.0))


@pytest.mark.parametrize(
    ("text", "said"), [(BARE, "no mass is given"), (FIXED, "does not say where"), (BARE, "[[lever.mass]]")]
)
def test_a_prediction_needs_to_know_what_is_lifted(text: str, said: str) -> None:
    with pytest.raises(MachineError, match=re.escape(said)):
        plan_survey(parse_machine(text), load_kg=40.0)


def test_a_fixed_mass_predicts_at_no_load() -> None:
    assert plan_survey(parse_machine(FIXED), load_kg=0.0).items


def test_nothing_that_resists_is_no_plan() -> None:
    text = FIXED.replace('"9 kg"', '"load"')
    with pytest.raises(MachineError, match="nothing resists at 0 kg"):
        plan_survey(parse_machine(text), load_kg=0.0)


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
