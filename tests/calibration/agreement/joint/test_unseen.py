"""The smallest shift that would be found, against the normal distribution by hand and against simulation."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration.agreement.contrasts import Contrasts
from feltload.calibration.agreement.joint.unseen import Addition, Design, unseen
from feltload.calibration.machine.parameters import Parameter, ParameterKey

PEG = Parameter(ParameterKey("radius", "plates"), 0.27, 0.003, "mm", 0.001, u_is_default=False, blunder=0.05)


def test_one_point_by_hand() -> None:
    """Noise of 2 N, 1.5 N per standard uncertainty: 2.5 N together, the limit at 2.6 times that.

    Given its shift the noise is 2 N: (2.6 x 2.5 + 1.645 x 2) / 1.5.
    """
    size = Design(np.array([[4.0]]), np.array([[1.5]])).found_from_u(2.6)
    assert size == pytest.approx([(2.6 * 2.5 + 1.645 * 2.0) / 1.5], rel=1e-6)


def test_a_dimension_of_no_shape_is_never_found() -> None:
    design = Design(np.eye(3), np.zeros((3, 1)))
    (item,) = unseen([PEG], 2.6, design, {})
    assert np.isinf(item.found_from)
    assert item.hidden


def test_a_shift_of_that_size_is_found_in_at_least_95_percent() -> None:
    rng = np.random.default_rng(3)
    x = np.linspace(0.0, 1.0, 12)
    noise = np.exp(-0.5 * ((x[:, None] - x) / 0.3) ** 2) + 0.1 * np.eye(12)
    shapes = np.column_stack([1.0 + x, np.cos(3.0 * x)])
    covariance = noise + shapes @ shapes.T
    limit = Contrasts(np.zeros(12), covariance, shapes, 1e-6).test().critical
    size = Design(noise, shapes).found_from_u(limit)
    root = np.linalg.cholesky(noise)
    found = 0
    for k in range(60):
        d = root @ rng.standard_normal(12) + size[0] * shapes[:, 0] + shapes[:, 1] * rng.standard_normal()
        found += Contrasts(d, covariance, shapes, 1e-6, seed=k).test().differs
    # 60 draws at 95 % or more: 57 expected at least, standard deviation 1.7.
    assert found >= 52


def test_what_lowers_it_much_is_named_and_what_hardly_does_is_not() -> None:
    now = Design(np.eye(1), np.ones((1, 1)))
    second = Design(0.01 * np.eye(1), np.ones((1, 1)))
    brisk = Design(0.9 * np.eye(1), np.ones((1, 1)))
    (item,) = unseen([PEG], 2.6, now, {Addition.SECOND_LOAD: second, Addition.BRISK_REPETITIONS: brisk})
    assert item.addition is Addition.SECOND_LOAD
    assert item.found_from_then < 0.7 * item.found_from
    (item,) = unseen([PEG], 2.6, now, {Addition.BRISK_REPETITIONS: brisk})
    assert item.addition is None
