"""Load against capacity, repetitions, and what a coach can change."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import (
    AddedForce,
    CapacityCurve,
    CapacitySource,
    Caution,
    Change,
    ChangeKind,
    CoachingError,
    LoadLine,
    MatchFact,
    OverlapError,
    capacity_from_table,
    compare_changes,
    greatest_load,
    inertia_swing_n,
    load_for_demand,
    match_capacity,
)
from lever_profile import G, lever_profile
from made_capacity import made_capacity
from published_data import published_rows


def test_match_is_the_ratio_and_finds_the_limit() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = made_capacity()
    matched = match_capacity(line, capacity, 40.0)
    by_hand = (
        9 * G * 0.38 * np.cos(matched.angle_rad) / 0.65
        + 40 * G * 0.3 * np.cos(matched.angle_rad) / 0.65
        + 6.0
    ) / np.interp(matched.angle_rad, profile.angle_rad, capacity.force_n)
    assert matched.demand == pytest.approx(by_hand, rel=1e-3)
    assert matched.limiting_angle_rad == matched.angle_rad[np.argmax(by_hand)]
    assert matched.limiting_range_rad[0] <= matched.limiting_angle_rad <= matched.limiting_range_rad[1]


def test_the_load_for_a_demand_gives_that_demand_back() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = made_capacity()
    load = load_for_demand(line, capacity, 0.8)
    assert match_capacity(line, capacity, load).limiting_demand == pytest.approx(0.8, abs=1e-4)


def test_one_load_cannot_tell_another() -> None:
    profile = lever_profile(loads_kg=(40.0,))
    line = LoadLine.of(profile)
    with pytest.raises(CoachingError, match="record a second load"):
        match_capacity(line, made_capacity(), 30.0)
    with pytest.raises(CoachingError, match="record a second load"):
        load_for_demand(line, made_capacity(), 0.8)
    assert match_capacity(line, made_capacity(), 40.0).limiting_demand > 0


def test_hard_at_the_end_means_fewer_through_it_than_short_of_it() -> None:
    profile = lever_profile(high_deg=30.0)
    line = LoadLine.of(profile)
    # The capacity is chosen so that the demand rises towards the shortened position, from 0.55 by 0.64 to 0.80.
    demand = np.interp(profile.angle_rad, np.deg2rad([-25.0, 10.0, 30.0]), [0.55, 0.64, 0.80])
    force = line.raising_n(40.0) / demand
    capacity = CapacityCurve(profile.angle_rad, force, np.diag((0.005 * force) ** 2), CapacitySource.HOLDS)
    matched = match_capacity(line, capacity, 40.0)
    full, short = matched.repetitions, matched.repetitions_within(to_rad=np.deg2rad(12.0))
    assert full.demand == pytest.approx(0.80, abs=1e-6)
    # A tenth of the way from 0.64 to 0.80.
    assert short.demand == pytest.approx(0.656, abs=1e-6)
    assert short.low > full.high
    with pytest.raises(OverlapError, match="before −40°"):
        matched.repetitions_within(to_rad=np.deg2rad(-40.0))


def test_load_above_capacity_everywhere_is_said() -> None:
    profile = lever_profile()
    matched = match_capacity(LoadLine.of(profile), made_capacity(force_n=(120.0, 90.0)), 40.0)
    assert [fact.kind for fact in matched.warnings] == [MatchFact.ABOVE_CAPACITY_EVERYWHERE]


def test_what_a_match_reports() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    strong = made_capacity(force_n=(2000.0, 900.0))
    far = match_capacity(line, strong, 70.0).warnings
    assert [fact.kind for fact in far] == [
        MatchFact.LOAD_FAR_FROM_MEASURED,
        MatchFact.LOAD_ABOVE_MEASURED,
        MatchFact.FRICTION_CARRIED,
    ]
    # Friction of the profile is the same with either load, so it is with a third; no band was kept of it.
    assert far[2].figure("friction_n") == pytest.approx(np.mean(profile.friction_n[0]))
    assert "u95_n" not in far[2].figures
    assert (far[0].figure("lightest_measured_kg"), far[1].figure("heaviest_measured_kg")) == (20.0, 40.0)
    partly = match_capacity(line, made_capacity(force_n=(420.0, 120.0)), 40.0)
    assert [fact.kind for fact in partly.warnings] == [MatchFact.ABOVE_CAPACITY_AT_LIMIT]
    # Capacity proportional to the load: demand is the same everywhere, so no position is the hardest.
    force = line.raising_n(40.0) / 0.7
    even = CapacityCurve(line.angle_rad, force, np.diag((0.03 * force) ** 2), CapacitySource.HOLDS)
    assert [fact.kind for fact in match_capacity(line, even, 40.0).warnings] == [
        MatchFact.LIMITING_POSITION_UNCLEAR
    ]


def test_a_match_as_a_table() -> None:
    matched = match_capacity(LoadLine.of(lever_profile()), made_capacity(), 40.0)
    table = matched.to_frame()
    assert table["demand"].to_numpy() == pytest.approx((table["load_n"] / table["capacity_n"]).to_numpy())
    assert table.loc[table["demand"].idxmax(), "angle_deg"] == pytest.approx(
        np.rad2deg(matched.limiting_angle_rad)
    )


def test_ranges_that_do_not_overlap() -> None:
    profile = lever_profile()
    away = made_capacity(60.0, 90.0)
    with pytest.raises(OverlapError, match="less than 10° in common"):
        match_capacity(LoadLine.of(profile), away, 40.0)


def test_what_ifs() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    chain = AddedForce("chain", profile.angle_rad[[0, -1]], np.array([0.0, 60.0]))
    assert line.with_forces([chain]).raising_n(40.0) - line.raising_n(40.0) == pytest.approx(
        np.linspace(0, 60, profile.angle_rad.size)
    )
    short = line.cut_to(np.deg2rad(-10), np.deg2rad(20))
    assert np.rad2deg(short.angle_rad[[0, -1]]) == pytest.approx([-10, 20])
    assert short.covariance_at(30.0).shape == (short.angle_rad.size,) * 2
    # Twice as fast is four times the inertia force.
    assert inertia_swing_n(line, 40.0, 1.0) == pytest.approx(4 * inertia_swing_n(line, 40.0, 2.0))


def test_a_line_is_not_cut_to_nothing() -> None:
    """Two angles are left at the least; the remedy names the travel that was measured."""
    line = LoadLine.of(lever_profile())
    low, high = line.angle_rad[4:6]
    assert line.cut_to(low, high).angle_rad == pytest.approx([low, high])
    first, last = (f"{end:.0f}°".replace("-", "−") for end in np.rad2deg(line.angle_rad[[0, -1]]))
    with pytest.raises(OverlapError) as refused:
        line.cut_to(low, low)
    assert refused.value.remedy == f"choose within 0 to 100 % of the travel ({first} to {last})"


def test_changes_beside_what_is() -> None:
    profile = lever_profile()
    line, capacity = LoadLine.of(profile), made_capacity()
    chain = AddedForce("chain", profile.angle_rad[[0, -1]], np.array([0.0, 60.0]))
    what_ifs = compare_changes(
        line,
        capacity,
        40.0,
        [
            Change.plates(line, 30.0),
            Change.higher_start(line, 40.0, np.deg2rad(-10.0)),
            Change.shorter_range(line, 40.0, np.deg2rad(20.0)),
            Change.added_force(line, 40.0, chain),
        ],
    )
    assert [tried.change.kind for tried in what_ifs] == list(ChangeKind)
    as_it_is, plates, start, stop, added = (tried.match for tried in what_ifs)
    assert plates.limiting_demand < as_it_is.limiting_demand < added.limiting_demand
    assert np.rad2deg(start.angle_rad[0]) == pytest.approx(-10.0)
    assert np.rad2deg(stop.angle_rad[-1]) == pytest.approx(20.0)


def test_greatest_load_under_a_limit() -> None:
    profile = lever_profile()
    line = LoadLine.of(profile)
    limit = greatest_load(line, 200.0, np.deg2rad(20), np.deg2rad(40))
    part = line.cut_to(np.deg2rad(20), np.deg2rad(40))
    upper = part.raising_n(limit.load_kg) + 2 * np.sqrt(np.diag(part.covariance_at(limit.load_kg)))
    assert upper.max() == pytest.approx(200.0, abs=0.01)
    assert limit.cautions == (Caution.LIMIT_TREATS_NOTHING,)
    # A lever is heaviest where it is nearest to the horizontal.
    assert np.rad2deg(limit.at_rad) == pytest.approx(20.0)
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
    matched = match_capacity(LoadLine.of(profile), capacity, 40.0)
    # A lever grows heavy towards horizontal while the knee grows weak there: the end limits.
    assert np.rad2deg(matched.limiting_angle_rad) > -20.0
    assert matched.evenness < 0.8


def test_men_of_18_to_25_are_strongest_at_64_9_degrees_of_flexion() -> None:
    """The row's parameter C3, 1.133 rad, written in degrees; no figure of its own."""
    (row,) = [r for r in KNEE_EXTENSION if r["male0_female1"] == r["age18-25_0_55-65_1_65plus_2"] == 0.0]
    assert np.rad2deg(row["C3"]) == pytest.approx(64.9, abs=0.05)
