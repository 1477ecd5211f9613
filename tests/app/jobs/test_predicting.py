"""What a prediction is asked for as it is typed, and targets as they are named and kept."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from feltload.app.errors import AppError
from feltload.app.jobs.predicting.inputs import read_friction, read_vary, read_way
from feltload.app.jobs.predicting.prediction import predict_file, read_loads
from feltload.app.jobs.predicting.targets import load_targets, read_targets, write_targets
from feltload.calibration import (
    TargetAxis,
    TargetError,
    TargetScale,
    example_text,
    judge_profile,
    parse_machine,
)
from feltload.core import FeltloadError

PUBLISHED = Path(__file__).parents[2] / "published"
LEVER = parse_machine(example_text("lever"), "lever")
CABLE = parse_machine(example_text("cable"), "cable")


def test_dimensions_vary_in_the_units_that_people_type() -> None:
    varied = read_vary("plates.radius=250:300:10", LEVER)
    np.testing.assert_allclose(varied.values, np.arange(0.25, 0.301, 0.01))
    np.testing.assert_allclose(
        read_vary("plates.radius=25:30:1 cm", LEVER).values, np.arange(0.25, 0.301, 0.01)
    )
    np.testing.assert_allclose(read_vary("counterweight.mass = 4", LEVER).values, [4.0])
    np.testing.assert_allclose(read_vary("plates.angle=-5:5:5", LEVER).values, np.radians([-5.0, 0.0, 5.0]))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("plates.radius", "first, last and step"),
        ("plates.radius=300:250:10", "does not rise"),
        ("plates.radius=250:300:10 kg", "does not measure"),
        ("plates.radius=250:300:10:5", "not first:last:step"),
        ("plates.radius=250:300:0", "does not rise by its step"),
        ("plates.radius=250:300:-10", "does not rise by its step"),
        ("plates.radius=0:1e12:1e-3", "at most can be told apart"),
        ("plates.radius=250:1e400:10", "does not rise"),
        ("plates.radius=250:300:1e-320", "at most can be told apart|does not rise"),
        ("hinge=1", "no dimension"),
    ],
)
def test_what_varies_nothing_is_refused(text: str, says: str) -> None:
    with pytest.raises(FeltloadError, match=says):
        read_vary(text, LEVER)


def test_friction_is_a_range_of_forces_or_of_parts() -> None:
    assert (read_friction("3 to 8 %").low, read_friction("3 to 8 %").high) == (0.03, 0.08)
    assert read_friction("5 to 15 N").high == 15.0
    assert read_friction("1 to 2 kgf").low == pytest.approx(9.80665)
    assert read_friction("10 N").low == read_friction("10 N").high == 10.0
    for text in ("a lot", "8 to 3 %", "5 to 15 kg", "200 %", "90 %", "-5 N"):
        with pytest.raises(FeltloadError, match="is no friction"):
            read_friction(text)


def test_travels_are_turns_or_ways_of_the_handle() -> None:
    assert read_way("60 deg", LEVER) == (pytest.approx(np.radians(60.0)), True)
    radius = LEVER.handle(np.zeros(1)).travel[0]
    assert read_way("50 cm", LEVER)[0] == pytest.approx(0.5 / radius, rel=1e-6)
    assert read_way(None, LEVER) == (pytest.approx(np.radians(80.0)), False)
    turned, stated = read_way(None, CABLE)
    assert not stated
    way = np.trapezoid(CABLE.handle(np.linspace(0.0, turned, 400)).travel, np.linspace(0.0, turned, 400))
    assert way == pytest.approx(0.6, rel=1e-3)
    for text, says in (("4 m", "reaches"), ("-80 deg", "below zero"), ("0.01 deg", "no travel")):
        with pytest.raises(FeltloadError, match=says):
            read_way(text, LEVER)


def test_targets_are_phrases_tables_and_strengths(tmp_path) -> None:
    table, strength = tmp_path / "wanted.csv", tmp_path / "strength.csv"
    table.write_text("travel_percent,force_n,tolerance_n\n0,190,60\n100,100,95\n")
    strength.write_text("angle_deg,force_n\n-25,400\n10,500\n55,300\n")
    phrase, wanted, strong = read_targets(
        ["constant within 60 % from start to 70 %", str(table), f"proportional to {strength} within 60 %"]
    )
    assert (wanted.scale, strong.scale) == (TargetScale.NEWTONS, TargetScale.FREE)
    assert strong.axis is TargetAxis.ANGLE
    np.testing.assert_allclose(strong.wanted, [0.8, 1.0, 0.6])
    machine = tmp_path / "row.toml"
    machine.write_text(example_text("lever"), encoding="utf-8")
    made = predict_file(machine, loads_kg=read_loads(["40 kg"]), targets=(phrase, wanted, strong))
    estimate = made.prediction.estimate
    write_targets(tmp_path, made.judgements, estimate.travel)
    back = judge_profile(estimate, load_targets(tmp_path))
    assert [each.verdict for each in back] == [each.verdict for each in made.judgements]
    assert json.loads((tmp_path / "targets.json").read_text())["judgements"][0]["verdict"] == back[0].verdict
    (tmp_path / "targets.json").write_text("{}")
    with pytest.raises(AppError, match="cannot be read"):
        load_targets(tmp_path)


def test_a_published_strength_by_joint_angle_is_a_target(tmp_path) -> None:
    """Anderson, Madigan & Nussbaum 2007, table 3: knee extension of men of 18 to 25 is greatest at C3 = 64.9 degrees;
    torque C1 cos(C2 (angle - C3)), isometric.
    """
    table = np.genfromtxt(PUBLISHED / "anderson2007_table3_mean.csv", delimiter=",", skip_header=3)
    (row,) = table[(table[:, :4] == [1, 0, 0, 0]).all(axis=1)]
    c1, c2, c3 = row[4:7]
    joint = np.arange(0.0, 116.0, 5.0)
    torque = c1 * np.cos(c2 * (np.radians(joint) - c3))
    strength, relation = tmp_path / "knee.csv", tmp_path / "joint.csv"
    lines = [f"{a},{t}" for a, t in zip(joint, torque, strict=True)]
    strength.write_text("joint_angle_deg,torque_nm\n" + "\n".join(lines) + "\n")
    # As the lever rises from -25 to 55 degrees the knee stretches from 95 to 15.
    relation.write_text("angle_deg,joint_angle_deg\n-25,95\n55,15\n")
    text = f"proportional to {strength} with {relation} within 60 %"
    (target,) = read_targets([text])
    assert target.scale is TargetScale.FREE
    assert np.degrees(target.at[np.argmax(target.wanted)]) == pytest.approx(70.0 - np.degrees(c3), abs=2.5)
    assert np.degrees(c3) == pytest.approx(64.9, abs=0.1)
    found = np.interp(np.radians(20.0), target.at, target.wanted)
    assert found == pytest.approx(np.cos(c2 * (np.radians(50.0) - c3)) / np.max(torque / c1), rel=1e-6)
    for content, says in (
        ("angle_deg,joint_angle_deg\n-25,95\n", "one row"),
        ("angle_deg,joint_angle_deg\n-25,140\n55,15\n", "moves the joint to 140"),
        ("angle_deg,knee\n-25,95\n55,15\n", "no column joint_angle_deg"),
        ("angle_deg,joint_angle_deg\n-25,bent\n55,15\n", "row 2, joint_angle_deg"),
    ):
        relation.write_text(content)
        with pytest.raises(TargetError, match=says):
            read_targets([text])
    with pytest.raises(TargetError, match=r"with joint\.csv"):
        read_targets([f"proportional to {strength} within 60 %"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("none.csv", "none.csv"),
        ("proportional to none.json within 5 %", "none.json"),
        ("falls 25 %", "no tolerance"),
    ],
)
def test_a_target_that_is_none_is_refused(text: str, says: str) -> None:
    with pytest.raises(FeltloadError, match=says):
        read_targets([text])
