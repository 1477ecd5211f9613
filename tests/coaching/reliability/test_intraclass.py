"""Intraclass correlations: a published table, a reference library, and simulated truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pingouin
import pytest

from feltload.coaching import CoachingError, intraclass_correlations, mean_squares, one_way_only
from published_data import published


def test_all_six_forms_of_the_published_table() -> None:
    """Shrout & Fleiss (1979), tables 2 to 4."""
    given = published("shrout_fleiss")
    squares = mean_squares(given["ratings"])
    assert squares.between == pytest.approx(given["between_mean_square"], abs=0.005)
    assert squares.within == pytest.approx(given["within_mean_square"], abs=0.005)
    assert squares.occasion == pytest.approx(given["judges_mean_square"], abs=0.005)
    assert squares.error == pytest.approx(given["error_mean_square"], abs=0.005)
    found = {each.form: each for each in intraclass_correlations(given["ratings"], confidence="approximate")}
    assert list(found) == list(given["icc"])
    for form, each in found.items():
        assert each.value == pytest.approx(given["icc"][form], abs=0.005)
        assert each.lower == pytest.approx(given["lower"][form], abs=0.0006)
        assert each.upper == pytest.approx(given["upper"][form], abs=0.0006)


def test_forms_agree_with_a_reference_library() -> None:
    """pingouin, on invented tables; its limits are rounded to two decimals."""
    rng = np.random.default_rng(5)
    for targets, occasions in ((3, 2), (8, 3), (20, 6)):
        table = rng.normal(0, 2, (targets, 1)) + rng.normal(0, 1, (1, occasions))
        table = 200 + table + rng.normal(0, 1, (targets, occasions))
        rows = [(i, j, value) for i, row in enumerate(table) for j, value in enumerate(row)]
        frame = pd.DataFrame(rows, columns=["target", "occasion", "value"])
        theirs = pingouin.intraclass_corr(frame, "target", "occasion", "value")
        ours = intraclass_correlations(table, confidence="approximate")
        assert [each.value for each in ours] == pytest.approx(theirs["ICC"].to_list(), rel=1e-9)
        for each, (low, high) in zip(ours, theirs["CI95"], strict=True):
            assert (each.lower, each.upper) == (
                pytest.approx(low, abs=0.0051),
                pytest.approx(high, abs=0.0051),
            )
        for ours_one, both in zip(one_way_only(table), (ours[0], ours[3]), strict=True):
            assert ours_one == both


def test_correlation_falls_with_the_spread_of_the_subjects_and_the_error_does_not() -> None:
    """Weir (2005), two data sets with the same differences between trials."""
    given = published("weir_2005")
    for trials, correlations in (
        (given["wide"], given["wide_icc"]),
        (given["narrow"], given["narrow_icc"]),
    ):
        found = {each.form: each.value for each in intraclass_correlations(trials)}
        assert found == pytest.approx(correlations, abs=0.005)
        error = mean_squares(trials).error
        assert error == pytest.approx(given["error_mean_square"], abs=0.05)
        assert error**0.5 == pytest.approx(given["sem"], abs=0.05)


@pytest.mark.parametrize("form", ["1,1", "2,1", "3,1"])
def test_limits_hold_the_truth_in_nineteen_of_twenty_studies(form: str) -> None:
    """400 simulated studies of ten machines and three days; the true correlation is known of each form."""
    rng, inside = np.random.default_rng(11), 0
    machine, day, error = 4.0, {"1,1": 0.0, "2,1": 1.0, "3,1": 3.0}[form], 2.0
    total = machine**2 + error**2 + (day**2 if form == "2,1" else 0.0)
    studies = 400
    for _ in range(studies):
        table = rng.normal(0, machine, (10, 1)) + rng.normal(0, day, (1, 3)) + rng.normal(0, error, (10, 3))
        (found,) = [each for each in intraclass_correlations(table) if each.form == form]
        inside += found.lower <= machine**2 / total <= found.upper
    assert inside / studies == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / studies) ** 0.5)


def test_limits_of_agreement_hold_the_truth_where_the_usual_ones_do_not() -> None:
    """Few occasions that differ much (Ionan et al. 2014): the usual interval's lower limit is too high."""
    rng, studies = np.random.default_rng(12), 300
    truth = 36.0 / (36.0 + 25.0 + 4.0)
    inside = {"generalized": 0, "approximate": 0}
    for _ in range(studies):
        table = rng.normal(0, 6, (20, 1)) + rng.normal(0, 5, (1, 2)) + rng.normal(0, 2, (20, 2))
        for kind in inside:
            found = intraclass_correlations(table, confidence=kind)[1]
            assert found.form == "2,1" and found.lower <= found.value <= found.upper
            inside[kind] += found.lower <= truth <= found.upper
    assert inside["generalized"] / studies == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / studies) ** 0.5)
    assert inside["approximate"] / studies < 0.85


def test_both_kinds_of_limits_meet_where_occasions_are_many() -> None:
    rng = np.random.default_rng(13)
    table = rng.normal(0, 6, (40, 1)) + rng.normal(0, 1, (1, 40)) + rng.normal(0, 2, (40, 40))
    new, usual = (
        intraclass_correlations(table, confidence=kind)[1] for kind in ("generalized", "approximate")
    )
    assert (new.value, new.lower, new.upper) == (
        usual.value,
        pytest.approx(usual.lower, abs=0.01),
        pytest.approx(usual.upper, abs=0.01),
    )


def test_what_gives_no_correlation_is_refused() -> None:
    with pytest.raises(CoachingError, match="two targets or more"):
        intraclass_correlations([[1.0, 2.0]])
    with pytest.raises(CoachingError, match="two targets or more"):
        intraclass_correlations([[1.0, np.nan], [2.0, 3.0]])
    with pytest.raises(CoachingError, match="do not scatter"):
        intraclass_correlations([[250.1, 250.1], [300.3, 300.3]])
    with pytest.raises(CoachingError, match="do not scatter"):
        intraclass_correlations([[250.1, 251.1], [300.3, 301.3]])
    with pytest.raises(CoachingError, match="all equal"):
        one_way_only([[250.1, 250.1], [300.3, 300.3]])


def test_machines_alike_give_a_correlation_below_zero() -> None:
    found = intraclass_correlations([[1.0, 3.0], [3.0, 1.2], [1.9, 2.2]])
    assert all(each.value < 0.0 for each in found[:3])
