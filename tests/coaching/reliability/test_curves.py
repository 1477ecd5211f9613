"""Repeatability along a curve: the scalar statistics at each position, and a reference library for the whole curve."""

from __future__ import annotations

import numpy as np
import pytest
import spm1d

from feltload.coaching import (
    CoachingError,
    compare_paired_curves,
    curve_repeatability,
    one_way_only,
    within_scatter,
)


def smooth(rng, count: int, points: int = 41) -> np.ndarray:
    x = np.linspace(0, 1, points)
    return sum(rng.normal(0, 1, (count, 1)) * np.cos(np.pi * k * x) / (1 + k) for k in range(5))


def test_every_position_is_the_scalar_statistic() -> None:
    rng = np.random.default_rng(1)
    machine = np.repeat(np.arange(4), 3)
    curves = 200 + 8 * smooth(rng, 4)[machine] + smooth(rng, 12)
    found = curve_repeatability(curves, machine)
    for k in (0, 17, 40):
        table = curves[:, k].reshape(4, 3)
        assert found.sem[k] == pytest.approx(within_scatter(table.tolist()).sem.value)
        assert found.correlation[k] == pytest.approx(one_way_only(table)[0].value)
        assert found.mean[k] == pytest.approx(table.mean())
    assert found.minimal_difference == pytest.approx(2.77186 * found.sem, rel=1e-4)


def test_places_that_a_curve_does_not_reach_count_for_nothing() -> None:
    rng = np.random.default_rng(2)
    machine = np.repeat(np.arange(3), 2)
    curves = 200 + rng.normal(0, 3, (6, 5))
    curves[5, 4] = curves[4, 4] = curves[3, 4] = np.nan
    found = curve_repeatability(curves, machine)
    # One machine measured twice and one once are left at the last position.
    assert found.sem[4] == pytest.approx(within_scatter([curves[:2, 4].tolist(), [curves[2, 4]]]).sem.value)
    alone = curve_repeatability(curves[:2], machine[:2])
    assert np.isnan(alone.correlation).all() and np.isfinite(alone.sem).all()
    with pytest.raises(CoachingError, match="measured twice"):
        curve_repeatability(curves[::2], machine[::2])


def test_permutations_agree_with_a_reference_library() -> None:
    """spm1d, non-parametric paired test with all 2**8 arrangements."""
    rng = np.random.default_rng(7)
    first = smooth(rng, 8)
    second = first + 0.5 * smooth(rng, 8) + 0.4
    ours = compare_paired_curves(first, second)
    theirs = spm1d.stats.nonparam.ttest_paired(first, second).inference(0.05, two_tailed=True, iterations=-1)
    assert ours.arrangements == 256
    assert ours.statistic == pytest.approx(theirs.z, rel=1e-6)
    assert ours.threshold == pytest.approx(theirs.zstar, rel=0.02)


def test_a_difference_is_established_where_it_is_and_seldom_where_none_is() -> None:
    rng, found = np.random.default_rng(5), []
    for _ in range(200):
        base = smooth(rng, 7)
        found.append(compare_paired_curves(base, base + 0.6 * smooth(rng, 7)).established.any())
    assert np.mean(found) <= 0.05 + 3 * (0.05 * 0.95 / 200) ** 0.5
    step = np.where(np.arange(41) > 25, 3.0, 0.0)
    base = smooth(rng, 8)
    real = compare_paired_curves(base + step, base + 0.3 * smooth(rng, 8)).established
    assert real[30:].all() and real[:20].mean() < 0.2


def test_too_few_machines_can_decide_nothing() -> None:
    rng = np.random.default_rng(6)
    base = smooth(rng, 5)
    found = compare_paired_curves(base + 100.0, base + smooth(rng, 5))
    assert not found.can_decide and found.p == pytest.approx(2 / 32)
    assert not found.established.any()
    with pytest.raises(CoachingError, match="two targets or more"):
        compare_paired_curves(base[:1], base[:1])
    with pytest.raises(CoachingError, match="without gaps"):
        compare_paired_curves(np.where(np.arange(41) == 3, np.nan, base), base)
