"""Results compared: what they are called, friction with its band, and predictions beside measurements."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from built_estimate import built_estimate
from feltload.app.files.provenance import Provenance
from feltload.app.jobs.comparing.comparison import compare_results
from feltload.app.jobs.comparing.names import result_names
from feltload.app.jobs.comparing.results import Result
from feltload.app.jobs.facts import ComparisonFact
from feltload.app.pages.comparison.view import build_comparison
from feltload.app.pages.page import render_comparison
from feltload.app.text.machine.comparison import describe_comparison
from feltload.signal import FrictionBand, ProfileMethod

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
