"""Scatter within targets, and limits of agreement: published data and simulated truth."""

from __future__ import annotations

import numpy as np
import pingouin
import pytest
from scipy.stats import nct, norm

from feltload.coaching import (
    CoachingError,
    limits_of_agreement,
    log_cv_percent,
    measurements_to_average,
    targets_for_correlation,
    within_scatter,
)
from published_data import published


def test_peak_flow_of_bland_and_altman() -> None:
    """Bland & Altman (1986): first readings by both meters; the paper takes two standard deviations, not 1.96."""
    given = published("bland_altman_1986")
    first = [pair[0] for pair in given["large"]]
    second = [pair[0] for pair in given["small"]]
    found = limits_of_agreement(first, second, confidence="approximate")
    assert found.bias.value == pytest.approx(given["bias"], abs=0.05)
    assert (found.bias.lower, found.bias.upper) == (
        pytest.approx(given["bias_limits"][0], abs=0.1),
        pytest.approx(given["bias_limits"][1], abs=0.1),
    )
    assert found.sd == pytest.approx(given["sd"], abs=0.05)
    wider = (given["multiple"] - 1.96) * found.sd
    for limit, step, value, (low, high) in (
        (found.lower, -wider, given["lower"], given["lower_limits"]),
        (found.upper, wider, given["upper"], given["upper_limits"]),
    ):
        assert limit.value + step == pytest.approx(value, abs=0.1)
        assert (limit.lower + step, limit.upper + step) == (
            pytest.approx(low, abs=0.4),
            pytest.approx(high, abs=0.4),
        )


def test_approximate_limits_agree_with_a_reference_library() -> None:
    """pingouin's plot draws bias and limits of 1.96 standard deviations."""
    import matplotlib.pyplot as plt

    given = published("bland_altman_1986")
    first, second = (np.array([pair[0] for pair in given[name]], float) for name in ("large", "small"))
    axes = pingouin.plot_blandaltman(first, second)
    lines = sorted(float(line.get_ydata()[0]) for line in axes.get_lines() if len(set(line.get_ydata())) == 1)
    plt.close("all")
    found = limits_of_agreement(first, second)
    for value in (found.lower.value, found.bias.value, found.upper.value):
        assert min(abs(value - line) for line in lines) < 0.01


def test_exact_limit_is_a_tolerance_limit_of_the_handbook() -> None:
    """A limit's interval by the non-central t: the same factor as NIST's one-sided tolerance limit."""
    given = published("nist_tolerance_factor")
    n = given["values"]
    factor = nct.ppf(given["confidence"], n - 1, norm.ppf(given["covered"]) * n**0.5) / n**0.5
    assert factor == pytest.approx(given["factor"], abs=5e-5)
    rng = np.random.default_rng(2)
    d = rng.normal(1.0, 2.0, 43)
    found = limits_of_agreement(d, np.zeros(43))
    outer = nct.ppf(0.975, 42, 1.96 * 43**0.5) / 43**0.5
    assert (found.upper.upper - found.bias.value) / found.sd == pytest.approx(outer, rel=1e-5)


def test_exact_intervals_hold_the_true_limit_and_the_approximate_ones_nearly() -> None:
    """2000 studies of eight pairs; the true upper limit is 1.96."""
    rng, studies = np.random.default_rng(8), 2000
    inside = {"exact": 0, "approximate": 0}
    for _ in range(studies):
        d = rng.normal(0, 1, 8)
        for method in inside:
            found = limits_of_agreement(d, np.zeros(8), confidence=method)
            inside[method] += found.upper.lower <= 1.959964 <= found.upper.upper
    assert inside["exact"] / studies == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / studies) ** 0.5)
    # The approximation is symmetric about a limit whose error is not.
    assert 0.85 < inside["approximate"] / studies < 0.94


def test_pairs_that_give_no_limits_are_refused() -> None:
    with pytest.raises(CoachingError, match="3 pairs or more, and there are 2"):
        limits_of_agreement([1.0, 2.0], [1.0, 3.0])
    with pytest.raises(CoachingError, match="equal"):
        limits_of_agreement([1.0, 2.0, 3.0], [2.0, 3.0, 4.0])


def test_scatter_within_by_hand_and_its_interval_by_simulation() -> None:
    """400 and 406 N, 250 and 254 N: mean square (18 + 8) / 2."""
    found = within_scatter([[400.0, 406.0], [250.0, 254.0], [300.0]])
    assert found.sem.value == pytest.approx(13.0**0.5)
    assert found.minimal_difference.value == pytest.approx(1.96 * 2**0.5 * 13.0**0.5)
    assert found.cv_percent.value == pytest.approx(100 * 13.0**0.5 / 322.0)
    rng, studies, inside = np.random.default_rng(4), 1000, 0
    for _ in range(studies):
        sem = within_scatter(rng.normal(100, 2, (4, 3)).tolist()).sem
        inside += sem.lower <= 2.0 <= sem.upper
    assert inside / studies == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / studies) ** 0.5)


def test_log_cv_finds_the_scatter_of_a_log_normal_and_refuses_what_has_no_logarithm() -> None:
    rng = np.random.default_rng(9)
    s = np.log1p(0.08**2) ** 0.5
    levels = np.array([20.0, 90.0, 400.0])[:, None]
    found = log_cv_percent((levels * np.exp(rng.normal(0, s, (3, 2000)))).tolist())
    assert found.value == pytest.approx(8.0, abs=0.3)
    assert found.lower < 8.0 < found.upper
    with pytest.raises(CoachingError, match="logarithm"):
        log_cv_percent([[1.0, 0.0]])


def test_sample_sizes() -> None:
    """Bonett (2002), example; Weir 2005: the error of a mean of m is SEM / sqrt(m)."""
    given = published("bonett_2002")
    found = targets_for_correlation(given["expected"], given["width"], given["measurements"])
    assert found == given["corrected"] == given["targets"] + 4
    assert measurements_to_average(sem=3.0, wanted=1.96 * 2**0.5 * 3.0 + 0.001) == 1
    assert measurements_to_average(sem=3.0, wanted=1.95 * 2**0.5 * 3.0 / 2) == 5
    with pytest.raises(CoachingError):
        measurements_to_average(sem=3.0, wanted=0.0)
    with pytest.raises(CoachingError):
        targets_for_correlation(1.0, 0.2, 2)


def test_as_many_targets_as_said_give_the_width_that_was_wanted() -> None:
    """Simulated: ICC(1,1) of 0.8, three measurements, width 0.2; the mean width over 200 studies."""
    from feltload.coaching import one_way_only

    targets, rng = targets_for_correlation(0.8, 0.2, 3), np.random.default_rng(6)
    widths = []
    for _ in range(200):
        table = rng.normal(0, 2, (targets, 1)) + rng.normal(0, 1, (targets, 3))
        single, _ = one_way_only(table)
        widths.append(single.upper - single.lower)
    assert np.mean(widths) == pytest.approx(0.2, abs=0.01)
