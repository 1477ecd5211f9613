"""Accelerometer from still attitudes, and the field check, against known truth."""

import datetime as dt

import numpy as np
import pytest

from feltload.acquisition.certificates.certificate import ForceCertificate, LowerLimit, Uncertainty
from feltload.calibration.errors import AttitudesError
from feltload.calibration.field.field_check import check_in_the_field
from feltload.calibration.inertial.accelerometer import calibrate_accelerometer
from feltload.calibration.weights.gravity import Gravity
from feltload.core.errors import InputError

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


def a_certificate():
    return ForceCertificate(
        serial="T-1",
        calibrated_on=dt.date(2026, 3, 2),
        expires_on=dt.date(2027, 3, 2),
        gravity_m_s2=9.81,
        gravity_u_m_s2=3e-4,
        reading_unit="counts",
        zero_reading=1000.0,
        reading_scale=100000.0,
        coefficients_n=[0.0, 1000.0],
        covariance_n2=[[0.0, 0.0], [0.0, 0.0]],
        lowest_n=100.0,
        highest_n=1000.0,
        rated_capacity_n=2000.0,
        budget=[Uncertainty(source="scatter", u_n=0.1), Uncertainty(source="weights", u_relative=1e-3)],
        lower_limit=LowerLimit(residual_sd_n=0.1, factor_n=0.24),
    )


def test_field_check():
    # By hand: u = sqrt(0.1^2 + 0.5^2 + 0.1^2) = 0.5196 N, weight 0.1 N; E_n = d / (2 * 0.5292).
    good = check_in_the_field(
        a_certificate(), applied_n=500.0, u_applied_n=0.1, reading_zero=1300.0, reading_loaded=51350.0
    )
    assert good.measured_n == pytest.approx(500.5)
    assert good.en == pytest.approx(0.5 / (2 * np.sqrt(0.1**2 + 0.5005**2 + 0.1**2 + 0.1**2)), rel=1e-6)
    assert good.agrees
    bad = check_in_the_field(
        a_certificate(), applied_n=500.0, u_applied_n=0.1, reading_zero=1300.0, reading_loaded=51500.0
    )
    assert not bad.agrees
    assert "calibrate again" in bad.text
    with pytest.raises(InputError, match="rated capacity"):
        check_in_the_field(
            a_certificate(), applied_n=2500.0, u_applied_n=0.1, reading_zero=0.0, reading_loaded=1.0
        )
