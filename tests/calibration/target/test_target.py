"""Targets: how they are said, where they lie on a travel, and when a curve meets them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from feltload.calibration import (
    PlacedTarget,
    Target,
    TargetAxis,
    TargetError,
    TargetRecord,
    TargetScale,
    TargetVerdict,
    judge_target,
    parse_target,
    place_target,
    proportional_target,
    require_compatible,
    target_from_table,
)
from feltload.core import Floats
from feltload.signal import AngleKind, PositionScale, Travel

ANGLE = np.radians(np.linspace(-20.0, 60.0, 81))
TRAVEL = Travel(ANGLE, 0.6 * (ANGLE - ANGLE[0]), start_angle_rad=float(ANGLE[0]))


def line(start_n: float, end_n: float) -> Floats:
    return np.linspace(start_n, end_n, ANGLE.size)


def placed_at(text: str, angle: Floats = ANGLE) -> PlacedTarget:
    (target,) = parse_target(text)
    return place_target(target, TRAVEL, angle)


def judged(text: str, force: Floats, u_n: float = 0.1, shared: bool = True) -> TargetVerdict:
    (target,) = parse_target(text)
    placed = place_target(target, TRAVEL, ANGLE)
    at = np.interp(placed.at_rad, ANGLE, force)
    n = at.size
    covariance = u_n**2 * (np.ones((n, n)) if shared else np.eye(n))
    return judge_target(placed, at, covariance, load_kg=40.0).verdict


@pytest.mark.parametrize(
    "text", ["falls 25(5) %", "falls by 25 ± 5 % from start to end", "falls 20 to 30 % from 0 % to 100 %"]
)
def test_one_target_is_said_in_several_ways(text: str) -> None:
    (target,) = parse_target(text)
    assert target.at.tolist() == [0.0, 1.0]
    np.testing.assert_allclose(target.wanted, [1.0, 0.75])
    np.testing.assert_allclose(target.tolerance, 0.05)
    assert not target.between
    assert target.scale is TargetScale.FIRST


def test_clauses_are_targets_of_their_own() -> None:
    rise, fall, force = parse_target(
        "rises 20(5) % from start to 40 %, then falls 30(5) % from 40 % to end; 250 ± 20 N at start with 40 kg"
    )
    np.testing.assert_allclose((rise.wanted[1], fall.wanted[1]), (1.2, 0.7))
    assert force.load_kg == 40.0
    assert force.scale is TargetScale.NEWTONS


def test_positions_are_parts_of_the_travel_ways_or_angles() -> None:
    for text, places in (
        ("constant within 5 % from 25 % to 75 %", (0.0, 40.0)),
        ("constant 25 ± 2 kgf from 0 cm to 41.8879 cm", (-20.0, 20.0)),
        ("rises evenly 10 to 20 % from -10 deg to 30 deg", (-10.0, 30.0)),
    ):
        (target,) = parse_target(text)
        placed = place_target(target, TRAVEL, ANGLE)
        np.testing.assert_allclose(np.degrees(placed.at_rad[[0, -1]]), places, atol=0.01)
        assert placed.at_rad.size > 30


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "says nothing"),
        ("goes down", "not a target that can be read"),
        ("falls 25 %", "no tolerance"),
        ("250 N at start", "no tolerance"),
        ("falls 110(5) %", "fall to zero"),
        ("falls 30 to 20 %", "does not rise"),
        ("falls 25(5) % from end to start", "do not rise"),
        ("falls 25(5) % from start to 31 cm", "mixes"),
        ("falls 25(5) % from start to 140 %", "outside the travel"),
        ("constant within 5 % from here to end", "not a position"),
        ("40 ± 2 kg at start", "is not a force"),
        ("constant within -5 %", "not above zero"),
    ],
)
def test_what_cannot_be_a_target_is_refused_in_one_line(text: str, says: str) -> None:
    with pytest.raises(TargetError, match=says) as refused:
        parse_target(text)
    assert "\n" not in str(refused.value)
    assert refused.value.remedy


def test_a_target_beyond_the_travel_is_refused() -> None:
    (target,) = parse_target("constant 250(20) N from 0 cm to 95 cm")
    with pytest.raises(TargetError, match="lies outside the travel"):
        place_target(target, TRAVEL, ANGLE)
    drum = Travel(ANGLE, None, PositionScale(AngleKind.ROTATION, "drum"))
    (target,) = parse_target("250(20) N at 10 deg")
    with pytest.raises(TargetError, match="no angle of its own"):
        place_target(target, drum, ANGLE)


def test_curves_meet_miss_or_leave_it_open() -> None:
    text = "falls 25(5) % from start to end"
    assert judged(text, line(400.0, 300.0)) is TargetVerdict.MET
    assert judged(text, line(400.0, 380.0)) is TargetVerdict.NOT_MET
    assert judged(text, line(400.0, 321.0), u_n=5.0, shared=False) is TargetVerdict.UNDETERMINED
    # Between the two nothing is asked.
    assert (
        judged(text, line(400.0, 300.0) + 200.0 * np.sin(np.linspace(0.0, np.pi, ANGLE.size)))
        is TargetVerdict.MET
    )
    assert judged("constant within 5 %", line(400.0, 420.0)) is TargetVerdict.MET
    assert judged("constant within 5 %", line(400.0, 450.0)) is TargetVerdict.NOT_MET


def test_an_error_that_all_positions_share_does_not_spoil_a_shape() -> None:
    falling = line(400.0, 300.0)
    assert judged("falls 25(3) %", falling, u_n=12.0, shared=True) is TargetVerdict.MET
    assert judged("falls 25(3) %", falling, u_n=12.0, shared=False) is TargetVerdict.UNDETERMINED
    assert judged("constant 400 ± 110 N", falling, u_n=12.0, shared=True) is TargetVerdict.UNDETERMINED


@pytest.mark.parametrize("length", [0.3, 0.05, 0.001])
def test_a_true_curve_along_its_limit_is_rarely_called_missed(length: float) -> None:
    """Of curves that truly lie on a limit all along, one in twenty at most may be called missed, or met."""
    x = TRAVEL.shares(ANGLE)
    truth = 300.0 - 90.0 * x**2
    covariance = 9.0 * np.exp(-0.5 * ((x[:, None] - x) / length) ** 2) + 1e-8 * np.eye(x.size)
    root = np.linalg.cholesky(covariance)
    target = Target("on it", TargetAxis.TRAVEL, x, truth - 20.0, np.full(x.size, 20.0), TargetScale.NEWTONS)
    placed = place_target(target, TRAVEL, ANGLE)
    assert placed.at_rad.size == ANGLE.size
    rng = np.random.default_rng(5)
    said = [
        judge_target(placed, truth + root @ rng.standard_normal(x.size), covariance, load_kg=0.0).verdict
        for _ in range(60)
    ]
    assert said.count(TargetVerdict.NOT_MET) <= 6
    assert said.count(TargetVerdict.MET) <= 6


def test_friction_above_a_limit_is_known_of_forces_and_not_of_shapes() -> None:
    for text, above in (("at most 402 N", 8.0), ("falls at least 20 %", 0.0), ("at least 100 N", 0.0)):
        placed = placed_at(text)
        force = np.interp(placed.at_rad, ANGLE, line(400.0, 300.0))
        rubs = np.full(force.size, 10.0)
        found = judge_target(placed, force, 0.01 * np.eye(force.size), load_kg=40.0, friction_n=rubs)
        assert found.verdict is TargetVerdict.MET
        assert found.raised_above_n == pytest.approx(above)


def test_a_shape_of_a_machine_that_pushes_along_is_missed() -> None:
    (target,) = parse_target("falls 25(5) %")
    placed = place_target(target, TRAVEL, ANGLE)
    found = judge_target(placed, np.array([-50.0, 20.0]), np.eye(2), load_kg=0.0)
    assert found.verdict is TargetVerdict.NOT_MET
    assert not found.has_scale
    assert found.off == ()


def test_where_and_by_how_much_it_is_off() -> None:
    (target,) = parse_target("constant 300 ± 20 N")
    placed = place_target(target, TRAVEL, ANGLE)
    force = line(280.0, 360.0)
    judgement = judge_target(placed, force, 4.0 * np.eye(force.size), load_kg=40.0)
    (off,) = judgement.off
    assert off.by_n == pytest.approx(40.0)
    assert np.degrees(off.at_rad) == pytest.approx(60.0)
    assert np.degrees(off.low_rad) == pytest.approx(20.0, abs=1.1)
    assert off.established
    # 81 independent positions: the quantile of the largest of so many normal deviates, 3.41 by Sidak's formula.
    assert off.u95_n == pytest.approx(2.0 * 3.41, rel=0.05)
    assert judgement.margin_n == pytest.approx(-40.0)


def test_a_free_scale_is_the_one_that_deviates_least() -> None:
    target = proportional_target(
        "strength", TargetAxis.TRAVEL, np.array([0.0, 0.5, 1.0]), np.array([300.0, 600.0, 450.0]), 0.1
    )
    placed = place_target(target, TRAVEL, ANGLE)
    force = 0.7 * 600.0 * placed.wanted
    assert placed.scale_n(force) == pytest.approx(420.0, rel=1e-6)
    bent = force * np.linspace(1.0, 1.12, force.size)
    deviations = placed.deviations(bent)
    assert np.max(deviations) == pytest.approx(-np.min(deviations), rel=1e-4)
    assert bool(placed.met(bent)) == bool(np.max(np.abs(deviations)) <= 1.0)
    assert not np.any(placed.met(-force))


def test_contradictions_are_found() -> None:
    def placed(*texts: str) -> list:
        return [place_target(target, TRAVEL, ANGLE[::8]) for text in texts for target in parse_target(text)]

    require_compatible(placed("falls 25(5) %", "constant 300 ± 60 N from 20 % to 80 %"))
    with pytest.raises(TargetError, match="no curve meets both"):
        require_compatible(placed("falls 25(5) %", "constant within 5 %"))
    with pytest.raises(TargetError, match="no curve meets both"):
        require_compatible(placed("250(10) N at start", "300(10) N at start"))
    with pytest.raises(TargetError, match="no curve meets both"):
        require_compatible(placed("at most 300 N", "at least 310 N from middle to end"))
    with pytest.raises(TargetError, match="no curve meets both"):
        require_compatible(placed("falls at least 30 %", "falls at most 20 %"))
    require_compatible(placed("falls 20 to 30 %", "at most 400 N", "at least 150 N from start to middle"))
    with pytest.raises(TargetError, match="contradict one another"):
        require_compatible(placed("400(10) N at start", "falls 25(5) %", "400(10) N at end"))


def test_limits_without_another_side() -> None:
    force = line(400.0, 300.0)
    for text, verdict in (
        ("at most 402 N", TargetVerdict.MET),
        ("never above 39 kgf", TargetVerdict.NOT_MET),
        ("at least 350 N from start to 45 %", TargetVerdict.MET),
        ("never below 310 N at end", TargetVerdict.NOT_MET),
        ("at most 400 N at start with 40 kg", TargetVerdict.UNDETERMINED),
        ("falls at least 24 %", TargetVerdict.MET),
        ("falls at least 26 % from start to end", TargetVerdict.NOT_MET),
        ("falls by at most 20 %", TargetVerdict.NOT_MET),
        ("rises at most 5 %", TargetVerdict.MET),
        ("rises at least 5 %", TargetVerdict.NOT_MET),
    ):
        assert judged(text, force) is verdict, text
    placed = placed_at("at most 400 N")
    low, high = placed.limits_n(force)
    np.testing.assert_allclose(high, 400.0)
    assert np.all(np.isneginf(low))
    # Behind the limit there is nothing to miss: what a search of dimensions wants lies a little within.
    np.testing.assert_allclose(
        placed.deviations(np.array([100.0, 380.0, 400.0, 420.0] * 21)[:81])[:4], [0, 0, 1, 2]
    )
    assert placed_at("at least 0 N").met(np.zeros(81))
    assert not placed_at("at least 0 N").met(force - 301.0)


def test_the_probability_of_a_limit_is_that_of_a_normal_distribution() -> None:
    """JCGM 106:2012, clause 7.3: one limit, Phi((limit - estimate) / u)."""
    for shift in (-1.0, 0.5, 2.0):
        placed = placed_at("at most 300 N at middle")
        found = judge_target(
            placed, np.array([300.0 - 4.0 * shift]), np.array([[16.0]]), load_kg=0.0
        ).probability
        assert found == pytest.approx(0.5 * (1.0 + math.erf(shift / math.sqrt(2.0))), abs=0.02)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("at most 30 kg", "is not a force"),
        ("at most 30", "unit"),
        ("at most 400 ± 20 N", "has a tolerance"),
        ("at least 150(3) N", "has a tolerance"),
        ("at most -5 N", "lets no force through"),
        ("at most 0 N", "lets no force through"),
        ("falls at least 110 %", "falls to zero or below"),
        ("falls at least 20(5) %", "has a tolerance"),
        ("at least 100 N from middle to start", "do not rise"),
    ],
)
def test_a_limit_that_is_none_is_refused(text: str, says: str) -> None:
    with pytest.raises(TargetError, match=says) as refused:
        parse_target(text)
    assert refused.value.remedy


def test_a_table_of_limits_leaves_sides_open(tmp_path) -> None:
    path = tmp_path / "limits.csv"
    path.write_text("travel_percent,lowest_n,highest_kgf\n0,150,\n50,150,40\n100,,30\n")
    target = target_from_table(path)
    placed = place_target(target, TRAVEL, ANGLE)
    low, high = placed.limits_n(line(1.0, 1.0))
    at_rows = np.flatnonzero(np.isin(np.round(TRAVEL.shares(placed.at_rad), 6), [0.0, 0.5, 1.0]))
    np.testing.assert_allclose(low[at_rows], [150.0, 150.0, -np.inf])
    np.testing.assert_allclose(high[at_rows], [np.inf, 40.0 * 9.80665, 30.0 * 9.80665])
    # Between two rows a side is limited where both limit it.
    np.testing.assert_allclose(low[20], 150.0)
    assert np.isposinf(high[20])
    assert np.isneginf(low[60])
    assert high[60] == pytest.approx(35.0 * 9.80665)
    record = TargetRecord.model_validate_json(TargetRecord.of(target).model_dump_json())
    np.testing.assert_array_equal(record.target.lower, target.lower)


def test_a_table_is_a_target(tmp_path) -> None:
    path = tmp_path / "wanted.csv"
    path.write_text("travel_percent,force_kgf,tolerance_percent\n0,40,5\n50,35,5\n100,25,10\n")
    target = target_from_table(path)
    np.testing.assert_allclose(target.wanted, np.array([40.0, 35.0, 25.0]) * 9.80665)
    np.testing.assert_allclose(target.tolerance, np.array([2.0, 1.75, 2.5]) * 9.80665)
    assert target.axis is TargetAxis.TRAVEL
    path.write_text("handle_travel_mm,force_percent,tolerance_percent,load_kg\n0,100,5,20\n500,60,5,20\n")
    target = target_from_table(path)
    assert target.scale is TargetScale.FREE
    assert target.load_kg == 20.0


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("travel_percent,force_n\n0,250\n", "no column tolerance_n"),
        ("travel_percent,angle_deg,force_n,tolerance_n\n0,0,250,20\n", "gives both"),
        ("travel_percent,force_n,tolerance_n\n0,much,20\n", "row 2, force_n"),
        ("travel_percent,force_n,tolerance_n\n0,250,20\n0,260,20\n", "position twice"),
        ("travel_percent,force_n,tolerance_n\n", "no rows"),
        ("travel_percent,force_percent,tolerance_n\n0,100,5\n", "give tolerance_percent"),
        ("travel_percent,force_n,tolerance_n\n0,250,0\n", "nothing could meet it"),
        ("travel_percent,force_n,tolerance_n\n0,250,-5\n", "nothing could meet it"),
        ("travel_percent,lowest_n,highest_n\n0,300,250\n", "not below the highest"),
        ("travel_percent,lowest_n,highest_n\n0,,\n", "there is no limit"),
        ("travel_percent,lowest_n,highest_kg\n0,1,2\n", "has highest_kg"),
        ("travel_percent,lowest_n,force_n\n0,1,2\n", "limits and force_n"),
        ("travel_percent,lowest_n\n0,much\n", "row 2, lowest_n"),
    ],
)
def test_a_wrong_table_is_refused(tmp_path, content: str, says: str) -> None:
    path = tmp_path / "wanted.csv"
    path.write_text(content)
    with pytest.raises(TargetError, match=says):
        target_from_table(path)


def probability(y: float, u: float, low: float, high: float) -> float:
    """Of one value within two limits, by the draws of the judgement."""
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    target = Target(
        "one", TargetAxis.TRAVEL, np.array([0.5]), np.array([middle]), np.array([half]), TargetScale.NEWTONS
    )
    placed = place_target(target, TRAVEL, ANGLE)
    return judge_target(placed, np.array([y]), np.array([[u**2]]), load_kg=0.0).probability


def test_conformance_probabilities_of_jcgm_106() -> None:
    """JCGM 106:2012, clause 7, examples (from memory): motor oil p = 0.66 and Zener diode p = 0.92."""
    assert probability(13.6, 1.8, 12.5, 16.3) == pytest.approx(0.66, abs=0.02)
    assert probability(-5.47, 0.05, -15.4, -5.40) == pytest.approx(0.92, abs=0.01)
