"""Results compared: what they are called, friction with its band, and predictions beside measurements."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.app.errors import UsageError
from feltload.app.files.provenance import Options, Provenance
from feltload.app.jobs.comparing.comparison import compare_results
from feltload.app.jobs.comparing.names import folder_names, result_names
from feltload.app.jobs.comparing.records import comparison_record
from feltload.app.jobs.comparing.results import Result, read_results
from feltload.app.jobs.facts import ComparisonFact
from feltload.app.pages.comparison.view import build_comparison
from feltload.app.pages.page import render_comparison
from feltload.app.text.machine.comparison import describe_assumed, describe_comparison
from feltload.signal import AngleKind, FrictionBand, PositionScale, ProfileMethod

ANGLE = np.radians(np.linspace(0.0, 60.0, 31))
NOTHING = Provenance(feltload="0", recordings=())


def made(friction_n: float, u_n: float, name: str = "press", **given):
    n = ANGLE.size
    band = FrictionBand(u_n**2 * np.ones((n, n)), np.full((1, n), 1.96 * u_n))
    force = 300.0 + 20.0 * np.cos(ANGLE)
    friction = np.full((1, n), friction_n)
    return built_estimate(ANGLE, force, friction_n=friction, friction_band=band, machine_name=name, **given)


def test_friction_differs_where_both_bands_together_say_so() -> None:
    """Independent by hand: 3 N against 1.96 hypot(0.5, 0.5) = 1.39 N, and 1 N against the same."""
    stiff, free, like = made(9.0, 0.5), made(6.0, 0.5), made(8.0, 0.5)
    results = tuple(
        Result(name, each, NOTHING) for name, each in zip("abc", (stiff, free, like), strict=True)
    )
    comparison = compare_results(results)
    first, second = (pair.loads[0].friction for pair in comparison.pairs)
    assert first is not None and second is not None
    assert np.isclose(first.mean, 3.0)
    assert np.isclose(first.mean_u95, 1.96 * np.hypot(0.5, 0.5), rtol=0.01)
    assert first.mean_established and not second.mean_established
    said = [sentence for sentence in describe_comparison(comparison) if "friction of" in sentence]
    assert len(said) == 1
    assert "friction of a is the larger by" in said[0]


def test_a_prediction_shares_no_errors_with_a_measurement() -> None:
    predicted = replace(made(6.0, 0.5), method=ProfileMethod.PREDICTION)
    comparison = compare_results(
        (Result("measured", made(6.0, 0.5), NOTHING), Result("drawn", predicted, NOTHING))
    )
    assert [fact.kind for fact in comparison.pairs[0].assumed] == [ComparisonFact.PREDICTED]
    assert comparison.repeats == ()


def test_results_are_called_by_their_machines() -> None:
    press, row = made(6.0, 0.5), made(6.0, 0.5, "row")
    assert result_names([press, row], ["x", "y"]) == ["press", "row"]
    assert result_names([press, press], ["monday", "friday"]) == ["monday", "friday"]
    assert result_names([press, row, press], ["a", "b", "c"]) == ["press (a)", "row", "press (c)"]


def test_thirty_curves_have_a_panel_each_that_the_table_explains() -> None:
    results = tuple(Result(f"day {k}", made(6.0 + 0.1 * k, 0.5), NOTHING) for k in range(30))
    view = build_comparison(compare_results(results))
    assert [row.number for row in view.rows] == list(range(1, 31))
    assert [row.number for row in view.gaps] == list(range(2, 31))
    page = render_comparison(view)
    assert ">30 day 29</text>" in page
    assert "press: day 0 and 29 others" in page
    assert "all 29 differences together" in page
    # Friction of 6 N against 8.9 N, with a band of 29 differences: 0.71 N times 3.1, the normal factor of 0.05 / 29.
    apart = sum("differs over" in row.friction_where for row in view.gaps)
    assert apart == sum(0.1 * k > 0.5 * np.sqrt(2.0) * 3.138 for k in range(30))
    assert f"friction with {apart} of the other 29" in page


def test_a_lever_and_a_sled_have_parts_of_their_travel_in_common_alone() -> None:
    lever = Result("lever", made(6.0, 0.5), NOTHING)
    sled = Result("sled", made(6.0, 0.5, "sled", scale=PositionScale(AngleKind.ROTATION, "wheel")), NOTHING)
    comparison = compare_results((lever, sled))
    assert comparison.by == "travel"
    assert ComparisonFact.OTHER_TRAVELS in [fact.kind for fact in comparison.pairs[0].assumed]
    assert any("travel that each was measured over" in line for line in describe_assumed(comparison))
    with pytest.raises(UsageError, match="sled has no lever angle"):
        compare_results((lever, sled), by="angle")
    with pytest.raises(UsageError, match="the handle's way is not known of lever"):
        compare_results((lever, sled), by="handle")


def test_shapes_of_different_loads_are_compared_where_forces_are_not() -> None:
    """300 + 20 cos against half of that: the same shape, and half the force; a bump of 5 % of the mean is found."""
    n, force = ANGLE.size, 300.0 + 20.0 * np.cos(ANGLE)
    bump = 15.0 * np.exp(-0.5 * ((ANGLE - 0.5) / 0.1) ** 2)
    light = built_estimate(ANGLE, 0.5 * force, (20.0,), covariance_n2=0.25 * np.eye(n))
    bent = built_estimate(ANGLE, 0.5 * (force + bump), (20.0,), covariance_n2=0.25 * np.eye(n))
    heavy = Result("heavy", built_estimate(ANGLE, force, covariance_n2=0.25 * np.eye(n)), NOTHING)
    assert not compare_results((heavy, Result("light", light, NOTHING))).compared
    alike = compare_results((heavy, Result("light", light, NOTHING)), scaled_by="mean")
    (at,) = alike.pairs[0].loads
    assert (at.load_kg, at.other_load_kg) == (40.0, 20.0)
    assert np.abs(at.force.values).max() < 1e-12
    assert at.friction is None
    apart = compare_results((heavy, Result("bent", bent, NOTHING)), scaled_by="peak")
    record = comparison_record(apart)
    (load,) = record["differences"][0]["loads"]
    assert load["differs"]
    assert "difference_share" in load and "difference_n" not in load
    said = " ".join(describe_comparison(apart))
    assert said.startswith("With 40 kg and 20 kg, each as a part of its own peak force, ")


def test_arms_share_nothing() -> None:
    sides = [
        Result(
            side,
            made(6.0, 0.5),
            Provenance(feltload="0", recordings=(), options=Options(side=side, both_sides=True)),
        )
        for side in ("left", "right")
    ]
    (pair,) = compare_results(tuple(sides)).pairs
    assert [fact.kind for fact in pair.assumed] == [ComparisonFact.OTHER_SIDES]


def test_directories_have_names_of_their_own(tmp_path) -> None:
    paths = [tmp_path / "a" / "x" / "row", tmp_path / "b" / "x" / "row"]
    assert folder_names(paths) == ["a/x/row", "b/x/row"]
    assert folder_names([tmp_path / "a", tmp_path / "b"]) == ["a", "b"]
    with pytest.raises(UsageError, match="named twice"):
        folder_names([paths[0], paths[1], tmp_path / "a" / "x" / ".." / "x" / "row"])
    with pytest.raises(UsageError, match="names 31, and two to 30 results"):
        read_results([tmp_path / str(k) for k in range(31)])
