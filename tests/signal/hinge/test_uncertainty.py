"""Uncertainty of the angle against the inverse of the whole normal matrix, written out densely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.signal.hinge.record import solve_record
from feltload.signal.hinge.samples import clean_samples
from feltload.signal.hinge.smoother.knots import KNOT_S, STATES
from feltload.signal.hinge.smoother.model import SCALE
from feltload.signal.hinge.smoother.normal import Normal
from feltload.signal.hinge.smoother.solver import Problem
from feltload.signal.hinge.smoother.uncertainty import angle_uncertainty, global_covariance

REST_S = (1.0, 3.0)


@pytest.fixture(scope="module")
def record():
    """Rests of four seconds around three repetitions of 70 degrees, noise as of an ordinary sensor."""
    rng = np.random.default_rng(5)
    time_s = np.arange(0.0, 24.0, 0.02)
    inside = (time_s > 4.0) & (time_s < 19.0)
    phase = 2.0 * np.pi * (time_s - 4.0) / 5.0
    q = np.where(inside, np.radians(35.0) * (1.0 - np.cos(phase)), 0.0)
    rate = np.where(inside, np.radians(35.0) * 2.0 * np.pi / 5.0 * np.sin(phase), 0.0)
    gyro = np.column_stack([0 * q, 0 * q, 1.01 * rate]) + rng.normal(0.0, 0.001, (q.size, 3)) + 0.01
    accel = 9.80665 * np.column_stack([np.sin(q + 0.3), np.cos(q + 0.3), 0 * q]) + rng.normal(
        0, 0.02, (q.size, 3)
    )
    return solve_record(clean_samples(time_s, gyro, accel), None, None)


def dense(normal: Normal):
    """The bordered normal matrix in full; `banded` is LAPACK's upper band storage of its first part."""
    count = normal.banded.shape[1]
    matrix = np.zeros((count + normal.corner.shape[0],) * 2)
    last = len(normal.banded) - 1
    for above in range(last + 1):
        rows = np.arange(count - above)
        matrix[rows, rows + above] = matrix[rows + above, rows] = normal.banded[last - above, above:]
    matrix[:count, count:] = normal.border
    matrix[count:, :count] = normal.border.T
    matrix[count:, count:] = normal.corner
    return matrix


def inverse(matrix):
    size = 1.0 / np.sqrt(np.diag(matrix))
    return np.linalg.inv(matrix * np.outer(size, size)) * np.outer(size, size)


def without_excess(problem: Problem) -> Problem:
    """The same, where the stated uncertainty reckons with no poorer accelerometer than the estimate does."""
    noise = problem.noise
    return Problem(
        problem.equations,
        problem.knots,
        replace(noise, accel_scale_limit_u=noise.accel_scale_u, accel_point_limit_u_m=noise.accel_point_u_m),
    )


def test_angle_from_the_rest_is_as_uncertain_as_its_contrast(record):
    problem, samples, normal = without_excess(record.problem), record.samples, record.found.normal
    turned = problem.equations.data.sample_turned
    total, u_reference, u_scale, shape, random = angle_uncertainty(
        problem, record.found, samples, turned, REST_S
    )
    knots = problem.knots.time_s
    at = int(np.argmin(np.abs(knots - 2.0)))
    covariance = inverse(dense(normal))
    turned_there = np.interp(knots, samples.time_s, turned)
    # q at a knot, from the rest: drift minus drift there, and the scale times what was turned since.
    contrast = np.zeros((knots.size, covariance.shape[0]))
    contrast[np.arange(knots.size), STATES * np.arange(knots.size)] = 1.0
    contrast[:, STATES * at] -= 1.0
    contrast[:, STATES * knots.size + SCALE] = turned_there - turned_there[at]
    variance = np.einsum("ij,jk,ik->i", contrast, covariance, contrast)
    # GUM 5.2.2. Between two knots T apart the integral of white noise is a Brownian bridge: in the mean T / 6.
    bridge = problem.noise.gyro_density_rad_s_rt_hz**2 * KNOT_S / 6.0
    band = inverse(dense(normal)[: STATES * knots.size, : STATES * knots.size])
    own = np.diag(band)[::STATES]
    expected = np.sqrt(variance + bridge + 0.25 * own[at])
    inside = (knots > samples.time_s[0]) & (knots < samples.time_s[-1])
    # A knot is no sample: half a step of the arm's fastest turn away.
    assert np.interp(knots, samples.time_s, total)[inside] == pytest.approx(expected[inside], rel=5e-3)
    assert u_scale == pytest.approx(
        np.sqrt(covariance[STATES * knots.size + SCALE, STATES * knots.size + SCALE]), rel=1e-6
    )
    assert u_reference == pytest.approx(np.sqrt(own[at]), rel=1e-6)
    rest = np.interp(samples.time_s, knots, own) + bridge
    assert random**2 == pytest.approx(rest, rel=1e-6)
    # The parts are those of the whole (where the whole is the larger).
    theta = u_scale * np.abs(turned - np.interp(2.0, samples.time_s, turned))
    left = total**2 - theta**2 - u_reference**2 - random**2
    assert shape**2 == pytest.approx(np.maximum(left, 0.0), abs=1e-15)


def test_a_poorer_accelerometer_adds_the_excess_of_its_variance(record):
    # To first order (GUM 5.1.2) an input of which the prior states u, but which is k u, adds (k^2 - 1) of its share.
    problem, found = record.problem, record.found
    noise = problem.noise
    plain = global_covariance(without_excess(problem), found)
    assert plain == pytest.approx(found.normal.inverse)

    def excess(**limits):
        return (
            global_covariance(Problem(problem.equations, problem.knots, replace(noise, **limits)), found)
            - plain
        )

    same = {"accel_scale_limit_u": noise.accel_scale_u, "accel_point_limit_u_m": noise.accel_point_u_m}
    twice = excess(**(same | {"accel_scale_limit_u": 2.0 * noise.accel_scale_u}))
    thrice = excess(**(same | {"accel_scale_limit_u": 3.0 * noise.accel_scale_u}))
    assert thrice == pytest.approx(twice * 8.0 / 3.0)
    assert np.all(np.diag(twice) >= 0.0) and twice[SCALE, SCALE] > 0.0
    # The estimate's own share of what it states at once: four directions at most.
    assert np.linalg.matrix_rank(twice / np.sqrt(np.outer(np.diag(plain), np.diag(plain))), tol=1e-9) <= 4
    apart = excess(**(same | {"accel_point_limit_u_m": 2.0 * noise.accel_point_u_m}))
    assert np.any(apart != 0.0)
    # A better one than the estimate reckons with takes nothing away.
    assert np.all(excess(accel_scale_limit_u=0.0, accel_point_limit_u_m=0.0) == 0.0)
