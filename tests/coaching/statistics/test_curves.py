"""Curves scaled and compared: against an uncertainty library, against draws, and where the answer is known."""

from __future__ import annotations

from dataclasses import replace

import GTC
import numpy as np
import pytest

from feltload.coaching import (
    OverlapError,
    ScalingError,
    UncertainCurve,
    curve_difference,
    friction_curve,
    source_name,
    static_curve,
)
from feltload.signal import BudgetItem, BudgetSource, FrictionBand
from lever_profile import lever_profile

ANGLE = np.radians(np.linspace(0.0, 60.0, 31))
GAIN = BudgetSource.FORCE_GAIN


def curve(values: np.ndarray, u: float, gain: float = 0.0) -> UncertainCurve:
    own = u**2 * np.eye(values.size) + np.outer(gain * values, gain * values)
    return UncertainCurve(ANGLE, values, own, 1.96, {source_name(GAIN): gain * values})


def test_scaled_curves_have_the_band_of_an_uncertainty_library():
    """Reference: GTC (Hall, GUM Tree Calculator): each value over the mean of all, a gain common to them."""
    values = 200.0 + 60.0 * np.sin(2.0 * ANGLE)
    gain = GTC.ureal(1.0, 0.02)
    parts = [gain * float(value) + GTC.ureal(0.0, 1.5) for value in values]
    mean = sum(parts) / len(parts)
    scaled = curve(values, 1.5, gain=0.02).scaled("mean")
    u = np.sqrt(np.diag(scaled.covariance))
    for k in (0, 14, 30):
        of_library = parts[k] / mean
        assert scaled.values[k] == pytest.approx(GTC.value(of_library))
        assert u[k] == pytest.approx(GTC.uncertainty(of_library), rel=1e-6)
    assert scaled.values.mean() == pytest.approx(1.0)
    assert scaled.systematic[source_name(GAIN)] == pytest.approx(np.zeros(31), abs=1e-12)


def test_a_curve_of_another_size_has_the_same_shape():
    """A cell that reads a tenth more, and a gain far off: both cancel where each is scaled by its own mean or peak."""
    values = 200.0 + 60.0 * np.sin(2.0 * ANGLE)
    first, second = curve(values, 0.5, gain=0.05), curve(1.1 * values, 0.5, gain=0.05)
    assert not curve_difference(first, second).established.any()
    for by in ("mean", "peak"):
        found = curve_difference(first, second, scaled_by=by)
        assert found.values == pytest.approx(np.zeros(31), abs=1e-12)
        assert found.u95.max() < 0.02
    bent = curve(values + 8.0 * np.exp(-(((ANGLE - 0.5) / 0.1) ** 2)), 0.5, gain=0.05)
    where = curve_difference(bent, first, scaled_by="mean").established
    assert where[np.argmin(np.abs(ANGLE - 0.5))]
    assert not where[ANGLE > 0.9].any()


def test_a_scaled_band_covers_what_was_drawn():
    rng = np.random.default_rng(5)
    values, other = 200.0 + 60.0 * np.sin(2.0 * ANGLE), 320.0 + 96.0 * np.sin(2.0 * ANGLE)
    found = []
    for _ in range(300):
        pair = [
            replace(
                curve(one, 2.0, gain=0.01),
                values=one * (1.0 + rng.normal(0.0, 0.01)) + rng.normal(0.0, 2.0, 31),
            )
            for one in (values, other)
        ]
        found.append(curve_difference(*pair, scaled_by="mean").established.any())
    assert np.mean(found) <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / 300)


def test_errors_in_common_cancel():
    values = 200.0 + 60.0 * np.sin(2.0 * ANGLE)
    one = curve(values, 0.5, gain=0.05)
    apart, shared = curve_difference(one, one), curve_difference(one, one, common=(GAIN,))
    assert shared.u95 == pytest.approx(np.full(31, 1.96 * 0.5 * np.sqrt(2.0)))
    assert np.all(apart.u95 > shared.u95)
    assert shared.mean_u95 == pytest.approx(1.96 * 0.5 * np.sqrt(2.0 / 31))
    assert np.all(replace(shared, curves=30).curve_u95 > shared.curve_u95)


def test_curves_of_a_profile_are_its_own():
    """Gain of 1 %: friction of 6 N is off by 0.06 N, whatever the static force."""
    made = lever_profile(loads_kg=(20.0, 40.0))
    n = made.angle_rad.size
    block = 0.04 * np.eye(2 * n)
    band = FrictionBand(block, np.full((2, n), 0.392))
    made = replace(made, friction_band=band, budget=(BudgetItem(GAIN, 0.01 * made.static_n),))
    static, friction = static_curve(made, 1), friction_curve(made, 1)
    assert static.values == pytest.approx(made.static_n[1])
    assert static.u95 == pytest.approx(made.static_u95_n[1])
    assert friction is not None
    assert friction.u95 == pytest.approx(np.full(n, 0.392))
    assert friction.systematic[source_name(GAIN)] == pytest.approx(np.full(n, 0.06))
    assert friction_curve(replace(made, friction_band=None), 0) is None


def test_what_cannot_be_scaled_or_compared_is_said():
    around_zero = curve(np.sin(6.0 * ANGLE), 0.5)
    with pytest.raises(ScalingError, match="too near zero"):
        around_zero.scaled("mean")
    far = replace(around_zero, angle_rad=ANGLE + 2.0)
    with pytest.raises(OverlapError, match="less than 5°"):
        curve_difference(around_zero, far)


def test_a_place_is_apart_only_where_it_is_more_than_the_whole():
    """3 N more everywhere is no place; 3 N and a bell of 4 N is one, at the bell."""
    level = UncertainCurve(ANGLE, np.full(31, 6.0), 0.04 * np.eye(31), 1.96)
    even = curve_difference(replace(level, values=np.full(31, 9.0)), level)
    assert even.established.all() and even.mean_established
    assert not even.somewhere.any()
    bell = 4.0 * np.exp(-(((ANGLE - 0.5) / 0.08) ** 2))
    bent = curve_difference(replace(level, values=9.0 + bell), level)
    assert bent.somewhere[np.abs(ANGLE - 0.5) < 0.05].all()
    assert not bent.somewhere[np.abs(ANGLE - 0.5) > 0.2].any()
    uneven = bent.about_mean()
    assert uneven.mean == pytest.approx(0.0, abs=1e-12)
    # Of independent positions the mean takes off one part in n of the variance.
    assert uneven.u95 == pytest.approx(bent.u95 * np.sqrt(30.0 / 31.0))
