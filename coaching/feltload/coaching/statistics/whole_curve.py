"""How wide a band must be that holds whole curves, not single positions of them."""

from __future__ import annotations

import math

import numpy as np
import scipy

from feltload.core import NORMAL_COVERAGE_95, Floats

OUTSIDE = 0.05
"""Part of the cases in which a 95 % band is left."""
WIDEST = 1e4
"""Standard uncertainties: with a single degree of freedom and thirty curves the band is as wide as nothing known."""


def whole_curve_factor(covariance: Floats, *, coverage: float, curves: int = 1) -> float:
    """Factor from a standard uncertainty to a band that is left nowhere, by none of `curves` curves, in 95 % of cases.

    Parameters
    ----------
    covariance : ndarray, shape (n, n)
        Of one curve along its positions.
    coverage : float
        Factor to the 95 % band of a single position: 1.96, or Student's where the uncertainty itself rests on few runs.
    curves : int
        How many such curves are looked at together; each has its share of the 5 % (Bonferroni).

    Notes
    -----
    Of a curve that wanders by the angle ``theta`` between neighbouring positions (``cos theta`` is their correlation),
    the chance to leave the band ``c`` is at most ``P(|t| > c) + sum min(theta / pi (1 + c^2 / nu)^(-nu / 2),
    P(|t| > c))``: whichever is less of what a continuous curve and what an independent position adds.

    References
    ----------
    Naiman (1986), Conservative confidence bands in curvilinear regression, Ann Stat 14:896-906; Sun & Loader (1994),
    Simultaneous confidence bands for linear regression and smoothing, Ann Stat 22:1328-1345 (both from memory).
    """
    u = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    beside = np.diag(covariance, 1) / (u[:-1] * u[1:])
    turns = np.arccos(np.clip(beside, -1.0, 1.0)) / np.pi
    freedom = degrees_of_freedom(coverage)
    allowed = OUTSIDE / curves

    def surplus(factor: float) -> float:
        if math.isinf(freedom):
            single = math.erfc(factor / math.sqrt(2.0))
            crossing = math.exp(-0.5 * factor**2)
        else:
            single = 2.0 * float(scipy.special.stdtr(freedom, -factor))
            crossing = (1.0 + factor**2 / freedom) ** (-0.5 * freedom)
        return single + float(np.sum(np.minimum(turns * crossing, single))) - allowed

    return max(coverage, float(scipy.optimize.brentq(surplus, 0.1, WIDEST)))


def degrees_of_freedom(coverage: float) -> float:
    """Degrees of freedom with the Student's factor `coverage` for 95 %; infinite for the normal distribution's."""
    if coverage <= NORMAL_COVERAGE_95:
        return math.inf
    return max(1.0, float(scipy.special.stdtridf(1.0 - 0.5 * OUTSIDE, coverage)))
