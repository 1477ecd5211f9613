"""Penalised least squares from normal equations, with the smoothness chosen by restricted likelihood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy

from feltload.core import Floats

_SMALLEST, _LARGEST = 1e-9, 1e6


@dataclass(frozen=True)
class Scale:
    """A factor of standard deviations that is chosen by restricted likelihood, and what is known of it beforehand.

    Attributes
    ----------
    least, most : float
        Its bounds.
    expected, weight : float
        A size it is expected to have, and how many observed coefficients that counts as (an inverse gamma prior).
    """

    least: float
    most: float
    expected: float = 1.0
    weight: float = 0.0


@dataclass(frozen=True, eq=False)
class Penalty:
    """A quadratic penalty on the coefficients ``[start, start + size)``.

    Attributes
    ----------
    start : int
        First coefficient.
    matrix : ndarray, shape (size, size)
        Positive semi-definite.
    rank : int
        Its rank.
    scale : Scale, optional
        Of the coefficients against the sizes that `matrix`, then the inverse of a covariance, gives them.
    """

    start: int
    matrix: Floats
    rank: int
    scale: Scale | None = None


@dataclass(frozen=True)
class Smoothed:
    """A penalised fit.

    Attributes
    ----------
    coefficients : ndarray, shape (p,)
        Solution.
    inverse : ndarray, shape (p, p)
        Inverse of the penalised normal matrix; times `variance` it is the covariance.
    strengths : ndarray
        Strength of each penalty.
    variance : float
        Variance of one effective sample.
    freedom : float
        Effective number of parameters.
    """

    coefficients: Floats
    inverse: Floats
    strengths: Floats
    variance: float
    freedom: float


def penalised(size: int, penalties: Sequence[Penalty], strengths: Floats) -> Floats:
    """Sum of the penalties, shape (size, size)."""
    total = np.zeros((size, size))
    for penalty, strength in zip(penalties, strengths, strict=True):
        stop = penalty.start + penalty.matrix.shape[0]
        total[penalty.start : stop, penalty.start : stop] += strength * penalty.matrix
    return total


def light_strengths(normal: Floats, penalties: Sequence[Penalty]) -> Floats:
    """Strengths that only keep the equations solvable, each a thousandth of its block of the normal matrix."""
    blocks = [slice(p.start, p.start + p.matrix.shape[0]) for p in penalties]
    return np.array(
        [
            1e-3 * np.trace(normal[block, block]) / np.trace(penalty.matrix)
            for block, penalty in zip(blocks, penalties, strict=True)
        ]
    )


def inverse_of(matrix: Floats) -> Floats:
    """Inverse of a positive definite matrix, scaled first so that units do not matter."""
    scale = 1.0 / np.sqrt(np.maximum(np.diag(matrix), np.finfo(float).tiny))
    scaled = matrix * np.multiply.outer(scale, scale)
    scaled.flat[:: len(scaled) + 1] += 1e-13
    factor, failed = scipy.linalg.lapack.dpotrf(scaled, lower=1)
    if failed:
        # Rounding made it indefinite: directions that the data say nothing about get the least weight.
        values, vectors = scipy.linalg.eigh(0.5 * (scaled + scaled.T))
        values = np.maximum(values, 1e-12 * values[-1])
        inverse = (vectors / values) @ vectors.T
    else:
        lower, _ = scipy.linalg.lapack.dpotri(factor, lower=1)
        # The upper half is left as it was: zero.
        inverse = lower + lower.T
        inverse.flat[:: len(inverse) + 1] *= 0.5
    return np.asarray(inverse * np.multiply.outer(scale, scale))


def smooth(
    normal: Floats,
    right: Floats,
    squares: float,
    samples: float,
    penalties: Sequence[Penalty],
    *,
    start: Floats | None = None,
    rounds: int = 40,
    tolerance: float = 0.02,
) -> Smoothed:
    """Solve penalised normal equations, choosing each penalty's strength by restricted likelihood.

    Parameters
    ----------
    normal : ndarray, shape (p, p)
        X'WX, scaled so that one effective sample counts one.
    right : ndarray, shape (p,)
        X'Wy, scaled alike.
    squares, samples : float
        y'Wy, scaled alike, and the effective number of samples.
    penalties : sequence of Penalty
        On coefficient blocks that do not overlap.
    start : ndarray, optional
        Strengths to start from.

    References
    ----------
    Wood & Fasiolo (2017), A generalized Fellner-Schall method for smoothing parameter optimization,
    doi:10.1111/biom.12666.
    """
    size = normal.shape[0]
    turn, flat = _separated(size, tuple(penalties))
    normal_t, right_t = turn.T @ normal @ turn, turn.T @ right
    diagonal = normal_t.diagonal()
    reference = np.array([max(float(diagonal[where].mean()), 1e-300) for where in flat])
    strengths = reference.copy() if start is None else start.copy()
    result = _solve(normal_t, right_t, squares, samples, flat, strengths)
    if start is None and any(penalty.scale for penalty in penalties):
        strengths = _bounded(strengths, reference, penalties, result.variance)
        result = _solve(normal_t, right_t, squares, samples, flat, strengths)
    for _ in range(rounds):
        before = strengths.copy()
        inverted = result.inverse.diagonal()
        for j, where in enumerate(flat):
            roughness = float(result.coefficients[where] @ result.coefficients[where])
            known = strengths[j] * float(inverted[where].sum())
            gain = max(where.stop - where.start - known, 0.0)
            scale = penalties[j].scale
            if scale is not None:
                gain, roughness = gain + scale.weight, roughness + scale.weight * scale.expected**2
            step = result.variance * gain / max(strengths[j] * roughness, 1e-300)
            # The bound keeps a single round from jumping past the optimum.
            strengths[j] *= min(max(step, 1e-2), 1e2)
        strengths = _bounded(strengths, reference, penalties, result.variance)
        result = _solve(normal_t, right_t, squares, samples, flat, strengths)
        if np.max(np.abs(np.log(strengths / before))) < tolerance:
            break
    return Smoothed(
        turn @ result.coefficients,
        turn @ result.inverse @ turn.T,
        result.strengths,
        result.variance,
        result.freedom,
    )


def _bounded(strengths: Floats, reference: Floats, penalties: Sequence[Penalty], variance: float) -> Floats:
    """Strengths within what is sensible for their part of the equations, and within the scales that penalties allow."""
    low, high = reference * _SMALLEST, reference * _LARGEST
    for j, penalty in enumerate(penalties):
        if penalty.scale is not None:
            low[j], high[j] = variance / penalty.scale.most**2, variance / penalty.scale.least**2
    return np.clip(strengths, low, high)


@lru_cache(maxsize=8)
def _separated(size: int, penalties: tuple[Penalty, ...]) -> tuple[Floats, list[slice]]:
    """Change of coefficients that parts what a penalty leaves free from what it shrinks.

    In the new coefficients each penalty is a plain sum of squares, so that even an endless strength
    leaves the free part (a constant, a line) well conditioned.

    Returns
    -------
    ndarray, shape (size, size)
        Old coefficients = this @ new ones.
    list of slice
        New coefficients that each penalty shrinks.
    """
    turn = np.eye(size)
    shrunk = []
    for penalty in penalties:
        stop = penalty.start + penalty.matrix.shape[0]
        values, vectors = scipy.linalg.eigh(penalty.matrix)
        free = penalty.matrix.shape[0] - penalty.rank
        scale = np.concatenate([np.ones(free), 1.0 / np.sqrt(values[free:])])
        turn[penalty.start : stop, penalty.start : stop] = vectors * scale
        shrunk.append(slice(penalty.start + free, stop))
    return turn, shrunk


def _solve(
    normal: Floats,
    right: Floats,
    squares: float,
    samples: float,
    shrunk: Sequence[slice],
    strengths: Floats,
) -> Smoothed:
    penalised_normal = normal.copy()
    diagonal = penalised_normal.reshape(-1)[:: normal.shape[0] + 1]
    for where, strength in zip(shrunk, strengths, strict=True):
        diagonal[where] += strength
    inverse = inverse_of(penalised_normal)
    coefficients = inverse @ right
    freedom = float(np.vdot(inverse, normal))
    rest = squares - 2.0 * float(coefficients @ right) + float(coefficients @ normal @ coefficients)
    floor = 1e-14 * squares / max(samples, 1.0)
    variance = max(rest / max(samples - freedom, 1.0), floor, 1e-300)
    return Smoothed(coefficients, inverse, strengths, variance, freedom)
