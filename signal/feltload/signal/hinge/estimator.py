"""Rotation of the moving arm from an inertial sensor fixed to it: one hinge, one angle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Fact, Flags, Floats, runs_of_true
from feltload.signal.hinge.axis import off_axis_share
from feltload.signal.hinge.diagnostics import motion_warnings
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.holes import left_out_facts
from feltload.signal.hinge.parameters import HingeParameters, found_parameters
from feltload.signal.hinge.record import solve_record
from feltload.signal.hinge.samples import InertialSamples, clean_samples
from feltload.signal.hinge.smoother.model import SCALE
from feltload.signal.hinge.smoother.uncertainty import angle_uncertainty
from feltload.signal.noise.densities import InertialNoise
from feltload.signal.noise.filters import GAP_PERIODS, derivative

if TYPE_CHECKING:
    from feltload.acquisition import InertialCertificate

#: The arm has left the start once it is this far from it.
LEFT_RAD = np.radians(4.0)


@dataclass(frozen=True)
class HingeMotion:
    """Motion of the arm about its hinge.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Times of the samples used, strictly increasing.
    q_rad : ndarray, shape (n,)
        Rotation from the start stop; the first movement away from it is positive.
    rate_rad_s, accel_rad_s2 : ndarray, shape (n,)
        Its derivatives at full bandwidth.
    u_q_rad : ndarray, shape (n,)
        Standard uncertainty of `q_rad`.
    u_reference_rad : float
        Part of it that is common to all samples: where the start stop is.
    u_scale : float
        Part of it that is proportional to `q_rad`, relative.
    u_shape_rad : ndarray, shape (n,)
        Part of it that depends on the position alike in every repetition, beyond the scale (gravity's circle).
    u_random_rad : ndarray, shape (n,)
        What remains; correlated over seconds only.
    still : ndarray of bool, shape (n,)
        Where the arm rests.
    valid : ndarray of bool, shape (n,)
        False where the gyro was clipped.
    reference_s : tuple of float or None
        The rest that defines q = 0; None when the record shows none.
    parameters : HingeParameters
    warnings : tuple of Fact
    """

    time_s: Floats
    q_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    u_q_rad: Floats
    u_reference_rad: float
    u_scale: float
    u_shape_rad: Floats
    u_random_rad: Floats
    still: Flags
    valid: Flags
    reference_s: tuple[float, float] | None
    parameters: HingeParameters
    warnings: tuple[Fact, ...]


def estimate_hinge(
    time_s: ArrayLike,
    gyro_rad_s: ArrayLike,
    accel_m_s2: ArrayLike,
    *,
    noise: InertialNoise | None = None,
    certificate: InertialCertificate | None = None,
    reference_s: tuple[float, float] | None = None,
    rolling_m: float = 0.0,
) -> HingeMotion:
    """Rotation of a part about its hinge, with uncertainty.

    Parameters
    ----------
    time_s : array_like, shape (n,)
        Sample times, seconds; see `clock.join_clock`.
    gyro_rad_s, accel_m_s2 : array_like, shape (n, 3)
        Angular rate and specific force in any fixed attitude of the sensor on the part.
    noise : InertialNoise, optional
        What is known of the sensor; by default typical figures with densities read from the data.
    certificate : InertialCertificate, optional
        Calibration that was applied to these samples: what it leaves unknown takes the place of typical figures.
    reference_s : tuple of float, optional
        Start and stop of a rest on the start stop. By default the first rest before the arm moves.
    rolling_m : float
        Radius of a wheel or pulley that may roll along, so that its axle travels in a straight line as it turns; which
        way and how far is estimated. 0 where the axle stays.

    Returns
    -------
    HingeMotion

    Raises
    ------
    MotionError
        Too little data, or nothing moved.

    Notes
    -----
    One robust least-squares smoother: the integrated rate about the hinge axis, with scale, plus a slow drift, must
    explain what the accelerometer sees of gravity turning in the plane and of its own centripetal and tangential
    acceleration at an unknown mount radius. Priors come from the noise of the sensor; rests tell the gyro's bias.
    Accuracy on people is limited by how firmly the sensor sits (Seel, Raisch & Schauer 2014, Sensors 14:6891).
    """
    record = solve_record(clean_samples(time_s, gyro_rad_s, accel_m_s2), noise, certificate, rolling_m)
    samples, problem, found, still = record.samples, record.problem, record.found, record.still
    data = problem.equations.data
    scale = 1.0 + found.unknown[SCALE]
    theta = scale * data.sample_turned + problem.knots.smooth(samples.time_s, found.drift)
    # The drift's own slope is that of lost or noisy readings too; the rate has the bias taken off and no more.
    rate = scale * data.sample_rate + problem.knots.on(samples.time_s, found.state)[1]
    reference, where = _reference(samples, theta, still, reference_s)
    sign = _first_direction(theta - reference, samples.time_s, where)
    off_axis = off_axis_share(samples.gyro, data.axis)
    # Without a rest q counts from an end of the travel: from the time at which the arm is there.
    end_s = float(samples.time_s[int(np.argmin(np.abs(theta - reference)))])
    uncertainty = angle_uncertainty(
        problem, found, samples, data.sample_turned, where or (end_s, end_s), off_axis
    )
    q = sign * (theta - reference)
    parameters = found_parameters(problem, found, sign, reference, uncertainty[2], off_axis)
    warnings = [*samples.warnings]
    warnings += left_out_facts(record.left_out_s, record.recorded_s)
    warnings += [Fact(HingeFact.HOLE, span_s=(start_s, stop_s)) for start_s, stop_s, _ in data.holes]
    if where is None:
        warnings.append(Fact(HingeFact.NO_REST_BEFORE))
    # A sample at its limit on one axis points across the hinge, and says nothing of the mounting.
    warnings += motion_warnings(record, q, off_axis_share(samples.gyro[~samples.gyro_clipped], data.axis))
    return HingeMotion(
        samples.time_s,
        q,
        sign * rate,
        _acceleration(samples, sign * rate),
        *uncertainty,
        still,
        ~samples.gyro_clipped,
        where,
        parameters,
        tuple(warnings),
    )


def _reference(
    samples: InertialSamples, theta: Floats, still: Flags, asked: tuple[float, float] | None
) -> tuple[float, tuple[float, float] | None]:
    """Angle of the start stop and the rest that shows it."""
    if asked is not None:
        inside = (samples.time_s >= asked[0]) & (samples.time_s <= asked[1])
        if np.any(inside):
            return float(np.mean(theta[inside])), asked
    span = float(np.ptp(theta))
    for start, stop in runs_of_true(still):
        moved = np.abs(theta[:start] - theta[start]) > max(LEFT_RAD, 0.1 * span)
        if np.any(moved):
            break
        return float(np.mean(theta[start:stop])), (
            float(samples.time_s[start]),
            float(samples.time_s[stop - 1]),
        )
    return _lowest(theta), None


def _lowest(theta: Floats) -> float:
    # Sign is chosen by the first movement; the end of the travel it starts from is the nearer one.
    low, high = np.quantile(theta, (0.002, 0.998))
    return float(low if abs(theta[0] - low) <= abs(theta[0] - high) else high)


def _first_direction(away: Floats, time_s: Floats, where: tuple[float, float] | None) -> float:
    start = 0 if where is None else int(np.searchsorted(time_s, where[1]))
    size = np.abs(away[start:])
    if not len(size):
        return 1.0
    left = np.flatnonzero(size > min(LEFT_RAD, 0.3 * float(size.max())))
    return float(np.sign(away[start + left[0]])) if len(left) else 1.0


def _acceleration(samples: InertialSamples, rate: Floats) -> Floats:
    """Smoothing derivative of the rate, stretch by stretch between gaps."""
    step = np.diff(samples.time_s)
    edges = np.flatnonzero(step > GAP_PERIODS / samples.rate_hz) + 1
    out = np.empty_like(rate)
    for part in np.split(np.arange(len(rate)), edges):
        cut = slice(int(part[0]), int(part[-1]) + 1)
        if len(part) < 5:
            out[cut] = 0.0
            continue
        per_sample = derivative(rate[cut], 1.0, half_width_s=0.02 * samples.rate_hz)
        out[cut] = per_sample / np.gradient(samples.time_s[cut])
    return out
