"""Splines and the choice of smoothness, against scipy and against known noise."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import BSpline

from feltload.signal.regression.smoothing import Penalty, smooth
from feltload.signal.regression.splines import SplineBasis


def test_basis_is_scipys():
    basis = SplineBasis(-0.5, 1.3, 9)
    knots = basis.low + basis.step * np.arange(-3, basis.intervals + 4)
    x = np.linspace(-0.5, 1.2999, 57)
    assert basis.dense(x) == pytest.approx(BSpline.design_matrix(x, knots, 3).toarray(), abs=1e-12)
    coefficients = np.sin(np.arange(basis.size))
    slope = BSpline(knots, coefficients, 3).derivative()(x)
    assert basis.dense(x, derivative=1) @ coefficients == pytest.approx(slope, abs=1e-9)


def _fit(truth, noise, seed):
    rng = np.random.default_rng(seed)
    x = np.linspace(0.0, 1.0, 400)
    basis = SplineBasis(0.0, 1.0, 25)
    design = basis.dense(x)
    y = truth(x) + rng.normal(0.0, noise, x.size)
    penalty = Penalty(0, basis.roughness(3), basis.size - 3)
    result = smooth(design.T @ design, design.T @ y, float(y @ y), x.size, [penalty])
    return design, result, truth(x)


def test_noise_is_found_and_a_parabola_comes_back_as_one():
    design, result, truth = _fit(lambda x: 3.0 + 2.0 * x - 5.0 * x**2, 0.1, 1)
    assert np.sqrt(result.variance) == pytest.approx(0.1, rel=0.12)
    # The penalty leaves parabolas alone, so hardly more than their three parameters are spent.
    assert result.freedom < 4.5
    assert np.sqrt(np.mean((design @ result.coefficients - truth) ** 2)) < 0.015


def test_bands_of_the_smooth_cover():
    inside = []
    for seed in range(20):
        design, result, truth = _fit(lambda x: np.sin(9.0 * x), 0.3, seed)
        u = np.sqrt(result.variance * np.einsum("ij,jk,ik->i", design, result.inverse, design))
        inside.append(np.mean(np.abs(design @ result.coefficients - truth) < 1.96 * u))
    assert 0.90 < np.mean(inside) < 0.99
