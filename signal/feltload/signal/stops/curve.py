"""A smooth curve through readings at stops, with what is not known between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from feltload.core import Floats, Indices

WEAK = 3.0
"""Prior size of the constant and of the turning terms, in units of the largest reading: no constraint."""
FRICTION_PRIOR = 0.15
"""Prior size of the friction in the same units (weak), where both ways were read."""
FRICTION_BEND = 0.03
"""By how much the friction may vary along the travel."""
BENDS = (0.003, 0.01, 0.03, 0.1)
"""Sizes of what the turning terms leave over, in the same units, that are weighed by the readings."""
LENGTHS = (0.25, 0.5, 1.0)
"""Lengths, as a part of the travel, over which it varies."""
USUAL_BEND, SPREAD = 0.015, 1.2
"""Median of its size, and the standard deviation of the size's logarithm (over linkages and cams of the emulator)."""


@dataclass(frozen=True)
class Noise:
    """Variances of the readings, n² of the unit of the forces.

    Attributes
    ----------
    scatter_n2, resolution_n2 : ndarray, shape (n,)
        Independent from reading to reading.
    position_n2 : ndarray, shape (n,)
        Common to all readings at one stop.
    """

    scatter_n2: Floats
    resolution_n2: Floats
    position_n2: Floats

    def covariance(self, stop: Indices) -> Floats:
        """Of all readings, shape (n, n)."""
        together = stop[:, None] == stop[None, :]
        root = np.sqrt(self.position_n2)
        return np.asarray(np.diag(self.scatter_n2 + self.resolution_n2) + together * np.outer(root, root))


@dataclass(frozen=True)
class StopCurve:
    """Static force and friction at chosen rotations.

    Attributes
    ----------
    static_n, friction_n : ndarray, shape (g,)
    covariance_n2, friction_covariance_n2 : ndarray, shape (g, g)
        Of the static force, and of the friction.
    smoother : ndarray, shape (g, n)
        Readings to static force.
    at_readings_n : ndarray, shape (n,)
        The fit at the readings themselves.
    """

    static_n: Floats
    friction_n: Floats
    covariance_n2: Floats
    friction_covariance_n2: Floats
    smoother: Floats
    at_readings_n: Floats


def fit_curve(
    q_rad: Floats, way: Indices, force_n: Floats, noise: Floats, at_rad: Floats, *, friction: bool
) -> StopCurve:
    """Fit readings ``static(q) + way * friction(q)``.

    Parameters
    ----------
    q_rad, force_n : ndarray, shape (n,)
    way : ndarray of int, shape (n,)
        1, -1, or 0.
    noise : ndarray, shape (n, n)
        Covariance of the readings.
    at_rad : ndarray, shape (g,)
        Where the curve is wanted, within the readings.
    friction : bool
        Whether to solve for friction as well.

    Notes
    -----
    A Gaussian process. A weight on a lever with a tangential pull gives constant, sine and cosine of the rotation
    exactly; what other mechanisms leave over is smooth, of a size and length that are averaged over by their likelihood
    and a prior.

    References
    ----------
    Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, ISBN 026218253X, sections 2.2, 2.7 (explicit
    basis functions) and 5.4 (marginal likelihood); equation 4.17 (Matérn, ν = 5/2).
    """
    size = float(np.max(np.abs(force_n)))
    middle, span = float(np.mean([q_rad.min(), q_rad.max()])), float(np.ptp(q_rad))
    features, features_at = _turning(q_rad - middle), _turning(at_rad - middle)
    free = (WEAK * size) ** 2
    base, base_across = free * features @ features.T, free * features_at @ features.T
    base_at = free * features_at @ features_at.T
    weight = way * float(friction)
    stiff = _friction_kernel(q_rad, q_rad, size, span)
    stiff_across = _friction_kernel(at_rad, q_rad, size, span)
    stiff_at = _friction_kernel(at_rad, at_rad, size, span)
    moving = np.outer(weight, weight) * stiff
    logs, fits = [], []
    for bend in BENDS:
        prior = -0.5 * (np.log(bend / USUAL_BEND) / SPREAD) ** 2
        for length in LENGTHS:
            variance = (bend * size) ** 2

            def kernel(a: Floats, b: Floats, v: float = variance, el: float = length * span) -> Floats:
                return v * _matern(a, b, el)

            total = base + kernel(q_rad, q_rad) + moving + noise
            factor = scipy.linalg.cho_factor(total + 1e-12 * size**2 * np.eye(q_rad.size), lower=True)
            solved = scipy.linalg.cho_solve(factor, force_n)
            logs.append(prior - 0.5 * force_n @ solved - np.sum(np.log(np.diag(factor[0]))))
            across = base_across + kernel(at_rad, q_rad)
            gain = scipy.linalg.cho_solve(factor, across.T).T
            spread = base_at + kernel(at_rad, at_rad) - gain @ across.T
            to_friction = scipy.linalg.cho_solve(factor, (stiff_across * weight).T).T
            loose = stiff_at - to_friction @ (stiff_across * weight).T
            fits.append((gain, spread, to_friction, loose, force_n - noise @ solved))
    shares = np.exp(np.array(logs) - max(logs))
    shares /= shares.sum()
    smoother, covariance = _mixed(shares, [fit[0] for fit in fits], [fit[1] for fit in fits], force_n)
    to_friction, loose = _mixed(shares, [fit[2] for fit in fits], [fit[3] for fit in fits], force_n)
    return StopCurve(
        static_n=smoother @ force_n,
        friction_n=to_friction @ force_n,
        covariance_n2=covariance,
        friction_covariance_n2=loose,
        smoother=smoother,
        at_readings_n=np.asarray(sum(w * fit[4] for w, fit in zip(shares, fits, strict=True))),
    )


def _mixed(
    shares: Floats, gains: Sequence[Floats], spreads: Sequence[Floats], force_n: Floats
) -> tuple[Floats, Floats]:
    """Mean of several fits, and their covariance with what they differ by."""
    mean = np.asarray(sum(share * gain for share, gain in zip(shares, gains, strict=True)))
    total = np.zeros_like(spreads[0])
    for share, gain, spread in zip(shares, gains, spreads, strict=True):
        away = (gain - mean) @ force_n
        total += share * (spread + np.outer(away, away))
    return mean, 0.5 * (total + total.T)


def _turning(q_rad: Floats) -> Floats:
    return np.stack([np.ones_like(q_rad), np.sin(q_rad), 1.0 - np.cos(q_rad)], axis=1)


def _matern(a_rad: Floats, b_rad: Floats, length_rad: float) -> Floats:
    far = np.sqrt(5.0) * np.abs(a_rad[:, None] - b_rad[None, :]) / length_rad
    return np.asarray((1.0 + far + far**2 / 3.0) * np.exp(-far))


def _friction_kernel(a_rad: Floats, b_rad: Floats, size_n: float, span_rad: float) -> Floats:
    along = FRICTION_BEND**2 * _matern(a_rad, b_rad, 0.5 * span_rad)
    return np.asarray(size_n**2 * (FRICTION_PRIOR**2 + along))
