"""Load against capacity, repetitions, and what a coach can change."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import (
    AddedForce,
    CapacityCurve,
    CoachingError,
    LoadLine,
    OverlapError,
    brzycki,
    capacity_from_table,
    epley,
    full_against_short,
    greatest_load,
    inertia_swing_n,
    load_for_demand,
    match_capacity as match,
    plan_help,
    repetitions_at,
    with_added,
    within,
)
from lever_profile import G, lever_profile
from published_data import published, published_rows


def _falling(profile_angle: np.ndarray, first: float = 420.0, last: float = 250.0) -> CapacityCurve:
    force = np.linspace(first, last, profile_angle.size)
    return CapacityCurve(profile_angle, force, np.diag((0.02 * force) ** 2), "holds")


def test_repetition_formulas() -> None:
    """Epley 1985 and Brzycki 1993 meet at ten repetitions, 75 % of the maximum (from their formulas)."""
    given = published("epley_brzycki")
    assert epley(given["share"]) == pytest.approx(given["repetitions"])
    assert brzycki(given["share"]) == pytest.approx(given["repetitions"])
    assert brzycki(1.0) == pytest.approx(1.0)
    assert epley(1.0) == 0.0
    with pytest.raises(CoachingError):
        epley(0.0)


def test_match_is_the_ratio_and_finds_the_limit() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = _falling(profile.angle_rad)
    found = match(line, capacity, 40.0)
    by_hand = (
        9 * G * 0.38 * np.cos(found.angle_rad) / 0.65 + 40 * G * 0.3 * np.cos(found.angle_rad) / 0.65 + 6.0
    ) / np.interp(found.angle_rad, profile.angle_rad, capacity.force_n)
    assert found.demand == pytest.approx(by_hand, rel=1e-3)
    assert found.limiting_angle_rad == found.angle_rad[np.argmax(by_hand)]
    assert found.limiting_range_rad[0] <= found.limiting_angle_rad <= found.limiting_range_rad[1]


def test_the_load_for_a_demand_gives_that_demand_back() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = _falling(profile.angle_rad)
    load = load_for_demand(line, capacity, 0.8)
    assert match(line, capacity, load).limiting_demand == pytest.approx(0.8, abs=1e-4)


def test_one_load_cannot_tell_another() -> None:
    profile = lever_profile(loads_kg=(40.0,))
    line = LoadLine.of(profile)
    with pytest.raises(CoachingError, match="record a second load"):
        match(line, _falling(profile.angle_rad), 30.0)
    with pytest.raises(CoachingError, match="record a second load"):
        load_for_demand(line, _falling(profile.angle_rad), 0.8)
    assert match(line, _falling(profile.angle_rad), 40.0).limiting_demand > 0


def test_hard_at_the_end_means_fewer_through_it_than_short_of_it() -> None:
    """With a machine hard at the end, about 15 repetitions short of it, 6 to 8 through it.

    Common practice, no source: sign and rough size only.
    """
    profile = lever_profile(high_deg=30.0)
    line = LoadLine.of(profile)
    # Demand rises from 0.62 to 0.8 towards the shortened position.
    load = line.raising_n(40.0)
    demand = np.interp(profile.angle_rad, np.deg2rad([-25.0, 10.0, 30.0]), [0.55, 0.64, 0.80])
    force = load / demand
    capacity = CapacityCurve(profile.angle_rad, force, np.diag((0.005 * force) ** 2), "holds")
    full, short = full_against_short(match(line, capacity, 40.0), np.deg2rad(12.0))
    assert 6.0 <= full.middle <= 8.5
    assert 13.0 <= short.middle <= 17.0
    assert short.low > full.high


def test_repetitions_come_as_a_range() -> None:
    found = repetitions_at(0.8, 0.03)
    assert found.low < found.middle < found.high
    assert str(repetitions_at(1.2, 0.02)) == "none"


def test_load_above_capacity_everywhere_is_said() -> None:
    profile = lever_profile()
    found = match(LoadLine.of(profile), _falling(profile.angle_rad, 120.0, 90.0), 40.0)
    assert any("everywhere" in w for w in found.warnings)


def test_ranges_that_do_not_overlap() -> None:
    profile = lever_profile()
    away = CapacityCurve(np.deg2rad(np.linspace(60, 90, 31)), np.full(31, 300.0), np.eye(31), "holds")
    with pytest.raises(OverlapError, match="less than 10° in common"):
        match(LoadLine.of(profile), away, 40.0)


def test_plan_is_load_minus_target_times_capacity() -> None:
    """Help in the shortened position, resistance in the lengthened one (common practice, no source)."""
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = _falling(profile.angle_rad, 520.0, 180.0)
    plan = plan_help(line, capacity, 40.0, 0.7)
    by_hand = np.interp(plan.angle_rad, profile.angle_rad, line.raising_n(40.0) - 0.7 * capacity.force_n)
    assert plan.help_n == pytest.approx(by_hand, abs=0.5)
    assert plan.stretches[0].kind == "resist"
    assert plan.stretches[-1].kind == "help"
    assert "help, building up from" in plan.stretches[-1].words()
    with pytest.raises(CoachingError):
        plan_help(line, capacity, 40.0, 1.4)


def test_what_ifs() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    chain = AddedForce("chain", profile.angle_rad[[0, -1]], np.array([0.0, 60.0]))
    assert with_added(line, [chain]).raising_n(40.0) - line.raising_n(40.0) == pytest.approx(
        np.linspace(0, 60, profile.angle_rad.size)
    )
    short = within(line, np.deg2rad(-10), np.deg2rad(20))
    assert np.rad2deg(short.angle_rad[[0, -1]]) == pytest.approx([-10, 20])
    assert short.covariance_at(30.0).shape == (short.angle_rad.size,) * 2
    # Twice as fast is four times the inertia force.
    assert inertia_swing_n(line, 40.0, 1.0) == pytest.approx(4 * inertia_swing_n(line, 40.0, 2.0))


def test_greatest_load_under_a_limit() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    limit = greatest_load(line, 200.0, np.deg2rad(20), np.deg2rad(40))
    part = within(line, np.deg2rad(20), np.deg2rad(40))
    upper = part.raising_n(limit.load_kg) + 2 * np.sqrt(np.diag(part.covariance_at(limit.load_kg)))
    assert upper.max() == pytest.approx(200.0, abs=0.01)
    assert "licensed clinician" in limit.caution
    with pytest.raises(CoachingError, match="without plates"):
        greatest_load(line, 20.0, np.deg2rad(20), np.deg2rad(40))


def _anderson_torque(
    angle_rad: np.ndarray, row: dict[str, float], height_m: float, mass_kg: float
) -> np.ndarray:
    """Isometric torque of Anderson, Madigan & Nussbaum (2007): C1 cos(C2 (angle - C3)) x weight x height."""
    return mass_kg * 9.81 * height_m * row["C1"] * np.cos(row["C2"] * (angle_rad - row["C3"]))


def _table(path: Path, angle_rad: np.ndarray, force_n: np.ndarray) -> CapacityCurve:
    lines = [f"{a:.4f},{f:.3f},{0.05 * f:.3f}" for a, f in zip(np.rad2deg(angle_rad), force_n, strict=True)]
    path.write_text("angle_deg,force_n,u_n\n" + "\n".join(lines))
    return capacity_from_table(path)


def test_published_strength_of_every_joint_peaks_where_its_row_says(tmp_path: Path) -> None:
    """All 36 rows of Anderson et al. (2007), table 3: C3 is the angle of greatest torque, in radians."""
    rows = published_rows("anderson_2007")
    assert len(rows) == 36
    for row in rows:
        angle = row["C3"] + np.linspace(-0.6, 0.6, 25)
        capacity = _table(tmp_path / "joint.csv", angle, _anderson_torque(angle, row, 1.78, 75.0) / 0.30)
        strongest = np.argmax(capacity.force_n)
        assert capacity.angle_rad[strongest] == pytest.approx(row["C3"], abs=np.deg2rad(2.0))
        # C1 is the greatest torque as a share of weight times height.
        greatest = row["C1"] * 75.0 * 9.81 * 1.78 / 0.30
        assert capacity.force_n[strongest] == pytest.approx(greatest, rel=0.01)


KNEE_EXTENSION = [
    row
    for row in published_rows("anderson_2007")
    if (row["joint_hip0_knee1_ankle2"], row["dir_ext0_flex1"]) == (1.0, 0.0)
]


@pytest.mark.parametrize("row", KNEE_EXTENSION)
def test_published_knee_extension_capacity_run_through_the_match(
    tmp_path: Path, row: dict[str, float]
) -> None:
    """Anderson et al. (2007), table 3, knee extension: men and women of three ages."""
    # A knee-extension lever (invented): pad at 0.30 m, extended at 0°, hanging at -90°; flexion = -elevation.
    elevation = np.deg2rad(np.arange(-88.0, -9.9, 2.0))
    capacity = _table(tmp_path / "knee.csv", elevation, _anderson_torque(-elevation, row, 1.78, 75.0) / 0.30)
    assert capacity.angle_rad[np.argmax(capacity.force_n)] == pytest.approx(-row["C3"], abs=np.deg2rad(1.5))

    profile = lever_profile(low_deg=-85.0, high_deg=-12.0)
    found = match(LoadLine.of(profile), capacity, 40.0)
    # A lever grows heavy towards horizontal while the knee grows weak there: the end limits.
    assert np.rad2deg(found.limiting_angle_rad) > -20.0
    assert found.evenness < 0.8


def test_men_of_18_to_25_are_strongest_at_64_9_degrees_of_flexion() -> None:
    """The row's parameter C3, 1.133 rad, written in degrees; no figure of its own."""
    (row,) = [r for r in KNEE_EXTENSION if r["male0_female1"] == r["age18-25_0_55-65_1_65plus_2"] == 0.0]
    assert np.rad2deg(row["C3"]) == pytest.approx(64.9, abs=0.05)
