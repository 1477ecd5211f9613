"""Accelerometer from still attitudes, against known truth."""

import numpy as np
import pytest

from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.accelerometer import calibrate_accelerometer
from feltload.calibration.weights.gravity import Gravity

GRAVITY = Gravity(9.81, 3e-4, "test")
OFFSET = np.array([0.12, -0.2, 0.3])
MATRIX = np.array([[1.01, 0.004, -0.003], [0, 0.985, 0.005], [0, 0, 1.02]])
FACES = np.vstack([np.eye(3), -np.eye(3)])


def raw_of(directions, rng, noise=0.002):
    unit = directions / np.linalg.norm(directions, axis=1)[:, None]
    raw = np.linalg.solve(MATRIX, 9.81 * unit.T).T + OFFSET
    return raw + rng.normal(0, noise, raw.shape)


def test_offsets_scales_and_angles_cover_the_truth():
    # True parameters within their stated 95 % bands in about 95 % of draws.
    inside = []
    truth = np.array([*OFFSET, *np.diag(MATRIX), MATRIX[0, 1], MATRIX[0, 2], MATRIX[1, 2]])
    for seed in range(200):
        rng = np.random.default_rng(seed)
        got = calibrate_accelerometer(raw_of(np.vstack([FACES, rng.normal(size=(30, 3))]), rng), GRAVITY)
        assert got.misalignment_found
        found = [*got.offset_m_s2, *np.diag(got.matrix), got.matrix[0, 1], got.matrix[0, 2], got.matrix[1, 2]]
        inside.append(np.abs(found - truth) < 1.96 * np.sqrt(np.diag(got.covariance)))
    assert 0.91 < np.mean(inside) < 0.99


def test_six_faces_give_offsets_and_scales_only():
    got = calibrate_accelerometer(raw_of(FACES, np.random.default_rng(1)), GRAVITY)
    assert not got.misalignment_found
    assert got.offset_m_s2 == pytest.approx(OFFSET, abs=0.02)
    assert np.diag(got.matrix) == pytest.approx(np.diag(MATRIX), abs=0.003)


def test_attitudes_that_do_not_span():
    rng = np.random.default_rng(1)
    flat = rng.normal(size=(12, 3)) * [1, 1, 0]
    with pytest.raises(AttitudesError, match=r"do not span.*z axis up"):
        calibrate_accelerometer(raw_of(flat, rng), GRAVITY)
    with pytest.raises(AttitudesError, match="4 still attitudes"):
        calibrate_accelerometer(raw_of(FACES[:4], rng), GRAVITY)
