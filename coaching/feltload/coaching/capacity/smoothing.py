"""A smooth curve through a few uncertain points, with its covariance."""

from __future__ import annotations

import numpy as np
import scipy

from feltload.core import Floats


def smooth_curve(x: Floats, y: Floats, u: Floats, grid: Floats) -> tuple[Floats, Floats]:
    """Gaussian-process regression with constant mean, averaged over the length and height of its bumps.

    A few points do not tell how fast the curve bends, so no single length and height is chosen: each that may be has
    the weight of its evidence, and where they part, the covariance says so.

    Parameters
    ----------
    x, y, u : ndarray, shape (k,)
        Points and their standard uncertainties, k >= 3.
    grid : ndarray, shape (n,)
        Where the curve is wanted.

    Returns
    -------
    curve : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)

    References
    ----------
    Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, eqs. 2.25, 2.26, 2.41
    (basis of a constant with a vague prior) and 5.8 (evidence).
    """
    scale = float(np.mean(y))
    # Strength varies slowly with joint angle: bumps shorter than a third of the travel are tremor and fatigue.
    lengths = float(np.ptp(x)) * np.array([0.35, 0.5, 0.7, 1.0, 1.5])
    heights = scale * np.array([0.05, 0.1, 0.2, 0.35, 0.6])
    fits = [_fit(x, y, u, grid, length, height, scale) for length in lengths for height in heights]
    evidence = np.array([fit[0] for fit in fits])
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    curve = np.einsum("i,ij->j", weights, np.array([fit[1] for fit in fits]))
    covariance = np.zeros((grid.size, grid.size))
    for weight, (_, mean, own) in zip(weights, fits, strict=True):
        covariance += weight * (own + np.outer(mean - curve, mean - curve))
    return curve, 0.5 * (covariance + covariance.T)


def _fit(
    x: Floats, y: Floats, u: Floats, grid: Floats, length: float, height: float, scale: float
) -> tuple[float, Floats, Floats]:
    """Log evidence, curve and covariance with bumps of one length and height."""
    factor = scipy.linalg.cho_factor(_kernel(x, x, length, height, scale) + np.diag(u**2), lower=True)
    cross = _kernel(grid, x, length, height, scale)
    deviation = y - scale
    weighed = scipy.linalg.cho_solve(factor, deviation)
    evidence = -0.5 * float(deviation @ weighed) - float(np.log(np.diag(factor[0])).sum())
    covariance = _kernel(grid, grid, length, height, scale) - cross @ scipy.linalg.cho_solve(factor, cross.T)
    return evidence, scale + cross @ weighed, covariance


def _kernel(a: Floats, b: Floats, length: float, height: float, scale: float) -> Floats:
    distance = (a[:, None] - b[None, :]) / length
    # The added constant is the vague prior of the level.
    return height**2 * np.exp(-0.5 * distance**2) + (3.0 * scale) ** 2
