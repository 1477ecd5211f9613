"""A match worked by hand: the machine's line, the uncertainty of a demand, and the limits of what is reported."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from feltload.coaching import (
    CapacityCurve,
    CapacitySource,
    Change,
    CoachingError,
    LoadLine,
    Match,
    MatchFact,
    OverlapError,
    greatest_load,
    inertia_swing_n,
    load_for_demand,
    match_capacity,
)
from feltload.signal import Travel
from lever_profile import lever_profile
from made_capacity import made_capacity

LINE = LoadLine.of(lever_profile(u_n=6.0))
HORIZONTAL = 25
"""Index of 0° on a travel of -25° to 45° in whole degrees."""


def _asking(demand: np.ndarray, *, load_kg: float = 40.0, u: float | np.ndarray = 0.0) -> Match:
    """A match with these demands in whole degrees of the travel: the capacity is the load over them, known to `u`."""
    force = LINE.raising_n(load_kg) / demand
    capacity = CapacityCurve(LINE.angle_rad, force, np.diag((u * force) ** 2), CapacitySource.HOLDS)
    exact = replace(LINE, covariance_n2=np.zeros_like(LINE.covariance_n2))
    return match_capacity(exact, capacity, load_kg)


def _flat(level: float, **at: float) -> np.ndarray:
    """A demand that is `level` but at single degrees (``_m20`` is -20°)."""
    demand = np.full(LINE.angle_rad.size, level)
    for name, value in at.items():
        demand[HORIZONTAL + int(name.lstrip("_").replace("m", "-"))] = value
    return demand


def test_the_machines_line_at_the_horizontal_by_hand() -> None:
    """9 kg at 0.38 m and 40 kg at 0.30 m on a handle at 0.65 m, g = 9.80665 m/s², 6 N of friction."""
    static = (9.0 * 0.38 + 40.0 * 0.30) * 9.80665 / 0.65
    assert LINE.raising_n(40.0)[HORIZONTAL] == pytest.approx(static + 6.0)
    assert LINE.lowering_n(40.0)[HORIZONTAL] == pytest.approx(static - 6.0)
    assert LINE.inertia_at(40.0)[HORIZONTAL] == pytest.approx((9.0 * 0.38**2 + 40.0 * 0.30**2) / 0.65)


def test_friction_that_grows_with_the_load_by_hand() -> None:
    """2 N and 0.1 N a kilogram, one way: 5 N at 30 kg, added raising and taken off lowering."""
    profile = lever_profile()
    even = np.ones(71)
    model = replace(profile.model, friction_n=2.0 * even, friction_n_per_kg=0.1 * even)
    line = LoadLine.of(replace(profile, model=model))
    static = (9.0 * 0.38 + 30.0 * 0.30) * 9.80665 / 0.65
    assert line.raising_n(30.0)[HORIZONTAL] == pytest.approx(static + 5.0)
    assert line.lowering_n(30.0)[HORIZONTAL] == pytest.approx(static - 5.0)


def test_uncertainty_of_a_demand_by_hand() -> None:
    """6 N of 238.6 N and 2 % of a capacity of 420 - 170 x 25/70 = 359.3 N: a demand of 0.664 ± 0.0213."""
    matched = match_capacity(LINE, made_capacity(), 40.0)
    assert matched.load_n[HORIZONTAL] == pytest.approx(238.64, abs=0.01)
    assert matched.capacity_n[HORIZONTAL] == pytest.approx(359.29, abs=0.01)
    assert matched.demand[HORIZONTAL] == pytest.approx(0.66422, abs=1e-5)
    # (6 / 359.29)² + (0.66422 x 0.02)² = 0.016700² + 0.013284².
    assert matched.u_demand[HORIZONTAL] == pytest.approx(0.021339, abs=2e-6)
    assert matched.u_limiting_demand == matched.u_demand[matched.limiting]


@pytest.mark.parametrize(("load_kg", "u_n"), [(20.0, 2.0), (40.0, 3.0), (30.0, 1.802776), (60.0, 6.324555)])
def test_uncertainty_is_carried_along_the_line(load_kg, u_n) -> None:
    """Weights of the two loads: 1/2 and 1/2 at 30 kg, -1 and 2 at 60 kg; 2 N and 3 N that do not go together."""
    n = LINE.angle_rad.size
    line = replace(LINE, covariance_n2=np.diag(np.repeat([4.0, 9.0], n)))
    assert line.u_n(load_kg) == pytest.approx(np.full(n, u_n))


def test_a_line_is_taken_where_every_load_covers_the_angle() -> None:
    """The second load not below -22°, the first not above 43°; variances that name their load and angle."""
    profile = lever_profile()
    n = profile.angle_rad.size
    gaps = profile.static_n.copy()
    gaps[1, :3], gaps[0, -2:] = np.nan, np.nan
    named = np.concatenate([1000.0 + np.arange(n), 2000.0 + np.arange(n)])
    line = LoadLine.of(replace(profile, static_n=gaps, covariance_n2=np.diag(named)))
    assert np.rad2deg(line.angle_rad[[0, -1]]) == pytest.approx([-22.0, 43.0])
    assert np.diag(line.covariance_at(20.0)) == pytest.approx(1000.0 + np.arange(3, n - 2))
    assert np.diag(line.covariance_at(40.0)) == pytest.approx(2000.0 + np.arange(3, n - 2))
    part = line.cut_to(*np.deg2rad([-10.5, 10.5]))
    assert np.diag(part.covariance_at(20.0)) == pytest.approx(1000.0 + np.arange(15, 36))
    assert np.diag(part.covariance_at(40.0)) == pytest.approx(2000.0 + np.arange(15, 36))
    gaps[0, :], gaps[0, 5] = np.nan, 1.0
    with pytest.raises(OverlapError, match="share no part"):
        LoadLine.of(replace(profile, static_n=gaps))


def test_evenness_and_the_under_challenged_share_by_hand() -> None:
    """71 positions: 14 at 0.55, one at 70 % of the greatest of 0.80 and not below it, the rest at 0.60."""
    demand = np.full(71, 0.60)
    demand[:14], demand[14], demand[-1] = 0.55, 0.56 + 1e-9, 0.80
    matched = _asking(demand)
    assert matched.under_challenged_share == pytest.approx(14.0 / 71.0)
    assert matched.evenness == pytest.approx((14 * 0.55 + 0.56 + 55 * 0.60 + 0.80) / 71.0 / 0.80)
    assert matched.limiting == 70


def test_evenness_and_the_under_challenged_share_are_by_the_handles_way() -> None:
    """Demand of 0.4 to 34.5/70 of the rotation: where the way is its square that is 0.243 of the way."""
    demand = np.full(71, 0.80)
    demand[:35], demand[35] = 0.40, 0.60
    matched = _asking(demand)
    rotation = np.linspace(0.0, 1.0, 71)
    along = Travel(matched.angle_rad, rotation**2)
    matched = replace(matched, travel=replace(matched.travel, along=along))
    assert matched.under_challenged_share == pytest.approx(0.243, abs=0.005)
    assert matched.evenness == pytest.approx((0.243 * 0.40 + 0.757 * 0.80) / 0.80, abs=0.005)


@pytest.mark.parametrize(
    ("level", "greatest", "kinds"),
    [
        (0.5, 0.999, []),
        (0.5, 1.001, [MatchFact.ABOVE_CAPACITY_AT_LIMIT]),
        (0.999, 1.2, [MatchFact.ABOVE_CAPACITY_AT_LIMIT]),
        (1.001, 1.2, [MatchFact.ABOVE_CAPACITY_EVERYWHERE]),
    ],
)
def test_a_load_above_capacity_is_told_from_one_below(level, greatest, kinds) -> None:
    assert [fact.kind for fact in _asking(_flat(level, _30=greatest)).warnings] == kinds


@pytest.mark.parametrize(
    ("load_kg", "far"), [(9.9, True), (10.1, False), (59.9, False), (60.1, True), (0.0, True)]
)
def test_a_prediction_is_rough_beyond_half_and_one_and_a_half_of_what_was_measured(load_kg, far) -> None:
    """Measured at 20 and 40 kg."""
    warnings = _asking(_flat(0.5, _30=0.9), load_kg=load_kg).warnings
    assert (MatchFact.LOAD_FAR_FROM_MEASURED in [fact.kind for fact in warnings]) == far


@pytest.mark.parametrize(("by_chance", "inside"), [(0.04, True), (0.012, False)])
def test_the_limiting_range_leaves_out_a_fortieth_on_each_side(by_chance, inside) -> None:
    """Two positions whose capacities are known to 1 %: the lower demand is the greater one with this probability."""
    lower = 0.9 * np.exp(0.01 * np.sqrt(2.0) * stats.norm.ppf(by_chance))
    low, high = np.rad2deg(_asking(_flat(0.5, _m20=lower, _30=0.9), u=0.01).limiting_range_rad)
    assert (low, high) == (pytest.approx(-20.0 if inside else 30.0), pytest.approx(30.0))
    low, high = np.rad2deg(_asking(_flat(0.5, _m20=0.9, _30=lower), u=0.01).limiting_range_rad)
    assert (low, high) == (pytest.approx(-20.0), pytest.approx(30.0 if inside else -20.0))


@pytest.mark.parametrize(("at", "unclear"), [("_9", False), ("_11", True)])
def test_a_limiting_position_over_more_than_half_of_the_travel_is_unclear(at, unclear) -> None:
    """From -25° to 9° is 34° of 70°, to 11° is 36°."""
    matched = _asking(_flat(0.5, _m25=0.9, **{at: 0.9}), u=0.01)
    assert (MatchFact.LIMITING_POSITION_UNCLEAR in [fact.kind for fact in matched.warnings]) == unclear


def test_the_load_for_a_demand_by_hand() -> None:
    """With 500 N everywhere the horizontal decides: 0.6 x 500 = 57.6 + 4.526 L, with the arm's 51.6 N and 6 N."""
    capacity = made_capacity(force_n=(500.0, 500.0))
    assert load_for_demand(LINE, capacity, 0.6) == pytest.approx((300.0 - 57.5979) / 4.526146, abs=1e-3)
    assert load_for_demand(LINE, capacity, 0.12) == pytest.approx((60.0 - 57.5981) / 4.526146, abs=1e-3)


@pytest.mark.parametrize(
    ("fraction", "said"),
    [
        (0.1, "without plates already asks for more than 10 %"),
        (2.1, "not possible"),
        (0.0, "not possible"),
    ],
)
def test_a_demand_that_no_load_gives_is_refused(fraction, said) -> None:
    with pytest.raises(CoachingError, match=said):
        load_for_demand(LINE, made_capacity(force_n=(500.0, 500.0)), fraction)


def test_a_person_stronger_than_any_plates_is_refused() -> None:
    """Ten times the heaviest load measured and 10 kg more, 410 kg, ask for 1 913 N: not 80 % of 2 500 N."""
    with pytest.raises(CoachingError, match="no load up to 410 kg reaches 80 %"):
        load_for_demand(LINE, made_capacity(force_n=(2500.0, 2500.0)), 0.8)


@pytest.mark.parametrize(("limit_n", "load_kg"), [(70.0, 0.088803), (200.0, 28.810809)])
def test_the_greatest_load_by_hand(limit_n, load_kg) -> None:
    """The horizontal decides: 57.59807 + 4.526146 L, and two times 6 N of the band, meet the limit."""
    limit = greatest_load(LINE, limit_n, *np.deg2rad([-0.1, 30.1]))
    assert limit.load_kg == pytest.approx(load_kg, abs=1e-4)
    assert np.rad2deg(limit.at_rad) == pytest.approx(0.0)


def test_a_limit_that_no_load_reaches_is_refused() -> None:
    """410 kg ask for 57.6 + 1855.7 N at the horizontal, and their band is 12 N."""
    between = np.deg2rad([-0.1, 30.1])
    assert greatest_load(LINE, 1925.0, *between).load_kg == pytest.approx(410.0, abs=0.1)
    with pytest.raises(CoachingError, match="no load up to 410 kg asks for 1926 N there"):
        greatest_load(LINE, 1926.0, *between)


@pytest.mark.parametrize("load_kg", [-1.0, np.nan, np.inf])
def test_a_load_that_cannot_be_is_refused(load_kg) -> None:
    with pytest.raises(CoachingError, match="not possible"):
        LINE.raising_n(load_kg)


def test_inertia_of_a_smooth_repetition_by_hand() -> None:
    """A fifth-order movement accelerates by 10/sqrt(3) x travel / duration² at most."""
    share = np.linspace(0.0, 1.0, 100_001)
    greatest = np.abs(60.0 * share - 180.0 * share**2 + 120.0 * share**3).max()
    inertia = (9.0 * 0.38**2 + 40.0 * 0.30**2) / 0.65
    assert inertia_swing_n(LINE, 40.0, 1.5) == pytest.approx(inertia * greatest * np.deg2rad(70.0) / 1.5**2)


@pytest.mark.parametrize(("seconds", "said"), [(0.29, "thrown"), (0.31, ""), (59.0, ""), (61.0, "held")])
def test_nobody_raises_a_load_in_no_time_nor_in_a_minute(seconds, said) -> None:
    """Three tenths of a second and sixty seconds: common practice, no source."""
    if said:
        with pytest.raises(CoachingError, match=f"is {said}, not raised"):
            inertia_swing_n(LINE, 40.0, seconds)
    else:
        assert inertia_swing_n(LINE, 40.0, seconds) > 0.0


@pytest.mark.parametrize("at_deg", [-25.0, -26.0, 45.0, 46.0])
def test_a_start_or_stop_lies_within_the_measured_travel(at_deg) -> None:
    for change, what in ((Change.higher_start, "a start"), (Change.shorter_range, "a stop")):
        with pytest.raises(OverlapError, match=f"{what} at .* outside the measured travel") as refused:
            change(LINE, 40.0, np.deg2rad(at_deg))
        assert refused.value.remedy == "choose within 0 to 100 % of the travel (−25° to 45°)"
