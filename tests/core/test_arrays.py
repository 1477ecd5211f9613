"""Array operations, against the reference library's own functions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy import ndimage

from feltload.core import covariance_root, interpolation_weights, runs_of_true


@given(st.lists(st.booleans(), min_size=1, max_size=40))
def test_runs_are_those_that_scipy_labels(mask):
    expected = [
        (s.start, s.stop) for (s,) in ndimage.find_objects(ndimage.label(np.array(mask, dtype=int))[0])
    ]
    assert runs_of_true(mask) == expected


def test_nothing_has_no_runs():
    assert runs_of_true([]) == []


def test_interpolation_is_that_of_numpy():
    generator = np.random.default_rng(2)
    knots = np.sort(generator.uniform(0.0, 1.0, 9))
    values = generator.normal(size=9)
    at = np.concatenate([[-1.0, 2.0], knots, generator.uniform(0.0, 1.0, 50)])
    assert interpolation_weights(knots, at) @ values == pytest.approx(np.interp(at, knots, values), abs=1e-12)


def test_what_lies_next_to_an_unknown_value_is_unknown():
    knots, values = np.arange(5.0), np.array([0.0, 1.0, np.nan, 3.0, 4.0])
    found = interpolation_weights(knots, np.array([0.5, 1.5, 2.0, 2.5, 3.5])) @ values
    assert np.isnan(found).tolist() == [False, True, True, True, False]


def test_a_root_gives_its_covariance_back_even_where_it_is_singular():
    factor = np.random.default_rng(4).normal(size=(6, 3))
    covariance = factor @ factor.T
    root = covariance_root(covariance)
    assert root @ root.T == pytest.approx(covariance, abs=1e-12)
    assert np.isfinite(root).all()
