"""Polynomials through calibration readings: fit, choice of degree, gross errors.

Sources, from memory: degree by the nested F test of ASTM E74-18, annex A1 (ratio of residual standard deviations at
97.5 %); repeated medians for a line that gross errors cannot pull: A. F. Siegel, Biometrika 69 (1982)
242-244.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import scipy
from numpy.typing import ArrayLike

from feltload.calibration.errors import ReadingsError
from feltload.core import Floats

# A reading this far from the robust line (fraction of span) is a blunder and no scatter of any usable cell.
_BLUNDER_OF_SPAN: Final = 0.01
_BLUNDER_SCATTERS: Final = 8.0
_SLIPS: Final = (
    (10.0, "the reading looks typed ten times too large"),
    (0.1, "the reading looks typed ten times too small"),
    (100.0, "the reading looks typed a hundred times too large"),
    (0.01, "the reading looks typed a hundred times too small"),
    (-1.0, "the reading looks to have the wrong sign"),
)


@dataclass(frozen=True)
class PolynomialFit:
    """Least-squares polynomial in ``(x - offset) / scale``, ascending powers.

    Attributes
    ----------
    coefficients : ndarray (m,)
    covariance : ndarray (m, m)
        From the residual scatter.
    offset, scale : float
        Shift and scale of x.
    residual_sd : float
        Residual standard deviation, n - m degrees of freedom.
    degrees_of_freedom : int
    """

    coefficients: Floats
    covariance: Floats
    offset: float
    scale: float
    residual_sd: float
    degrees_of_freedom: int

    def __call__(self, x: ArrayLike) -> Floats:
        z = (np.asarray(x, dtype=float) - self.offset) / self.scale
        return np.asarray(np.polynomial.polynomial.polyval(z, self.coefficients))

    def u(self, x: ArrayLike) -> Floats:
        """Standard uncertainty of the curve at x."""
        z = (np.asarray(x, dtype=float) - self.offset) / self.scale
        powers = z[..., None] ** np.arange(len(self.coefficients))
        return np.asarray(np.sqrt(np.einsum("...i,ij,...j->...", powers, self.covariance, powers)))

    def with_residual_sd(self, residual_sd: float) -> PolynomialFit:
        """The same curve with its covariance from another scatter of the readings."""
        ratio = (residual_sd / self.residual_sd) ** 2 if self.residual_sd > 0 else 1.0
        return replace(self, covariance=ratio * self.covariance, residual_sd=residual_sd)

    def rescaled(self, offset: float = 0.0, scale: float = 1.0) -> PolynomialFit:
        """The same curve in another shift and scale of x; by default in powers of x itself."""
        m = len(self.coefficients)
        inner = np.array([(offset - self.offset) / self.scale, scale / self.scale])
        transform = np.zeros((m, m))
        power = np.array([1.0])
        for k in range(m):
            transform[: k + 1, k] = power
            power = np.convolve(power, inner)
        return PolynomialFit(
            transform @ self.coefficients,
            transform @ self.covariance @ transform.T,
            offset,
            scale,
            self.residual_sd,
            self.degrees_of_freedom,
        )


def fit_polynomial(x: ArrayLike, y: ArrayLike, degree: int) -> PolynomialFit:
    """Least squares by orthogonal factors of a scaled Vandermonde matrix.

    Parameters
    ----------
    x, y : array_like (n,)
    degree : int

    Raises
    ------
    ReadingsError
        Fewer distinct x than the degree needs, plus one for the scatter.
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    freedom = len(x) - degree - 1
    if freedom < 1 or len(np.unique(x)) < degree + 1:
        raise ReadingsError(
            f"too few points: {len(x)} readings for a polynomial of degree {degree}",
            remedy="take more readings, at more loads",
        )
    scale = float(np.abs(x).max()) or 1.0
    q, r = np.linalg.qr(np.vander(x / scale, degree + 1, increasing=True))
    coefficients = np.linalg.solve(r, q.T @ y)
    residual = y - np.vander(x / scale, degree + 1, increasing=True) @ coefficients
    # One refinement step recovers the digits that squaring nothing but rounding took.
    coefficients = coefficients + np.linalg.solve(r, q.T @ residual)
    residual = y - np.vander(x / scale, degree + 1, increasing=True) @ coefficients
    variance = float(residual @ residual) / freedom
    inverse = np.linalg.solve(r, np.eye(degree + 1))
    return PolynomialFit(coefficients, variance * inverse @ inverse.T, 0.0, scale, variance**0.5, freedom)


@dataclass(frozen=True)
class DegreeChoice:
    """Degree of the calibration curve and the evidence for it.

    Attributes
    ----------
    degree : int
    loads : int
        How many loads it was chosen over.
    ratio, needed : float or None
        By what it lowers the residual of the degree below, and by what it must; None for the first degree.
    """

    degree: int
    loads: int
    ratio: float | None = None
    needed: float | None = None


def degree_factor(points: int, degree: int) -> float:
    """Ratio of residual standard deviations from which `degree` beats ``degree - 1`` (E74, table A1.1).

    ``sqrt(1 + (F - 1) / (points - degree))`` with the 97.5 % point F of F(1, points - degree - 1).
    """
    point = float(scipy.stats.f.ppf(0.975, 1, points - degree - 1))
    return float(np.sqrt(1.0 + (point - 1.0) / (points - degree)))


def choose_degree(x: ArrayLike, y: ArrayLike, *, highest: int = 3, floor: float = 0.0) -> DegreeChoice:
    """Highest degree whose last term the mean readings at each load call for.

    Parameters
    ----------
    x : array_like (n,)
        Mean reading at each load.
    y : array_like (n,)
        Load.
    highest : int
        Largest degree considered.
    floor : float
        Residual standard deviation that rounding of the readings alone would give; a fit this good is not
        improved further.
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    points = len(x)
    for degree in range(min(highest, points - 3), 1, -1):
        lower, upper = fit_polynomial(x, y, degree - 1), fit_polynomial(x, y, degree)
        if lower.residual_sd <= floor:
            continue
        ratio = lower.residual_sd / max(upper.residual_sd, floor, 1e-300)
        needed = degree_factor(points, degree)
        if ratio > needed:
            return DegreeChoice(degree, points, ratio, needed)
    return DegreeChoice(1, points)


@dataclass(frozen=True)
class Blunder:
    """One reading that cannot belong to the others: its index and, in words, why."""

    index: int
    why: str


def find_blunders(force: ArrayLike, reading: ArrayLike) -> list[Blunder]:
    """Readings far off a robust line of reading against force.

    Parameters
    ----------
    force, reading : array_like (n,)

    Returns
    -------
    list of Blunder
        Empty when all readings belong together. Nothing is removed here.
    """
    force, reading = np.asarray(force, dtype=float), np.asarray(reading, dtype=float)
    if len(force) < 5 or np.ptp(force) == 0:
        return []
    slope, start = scipy.stats.siegelslopes(reading, force)
    span = abs(slope) * float(np.ptp(force))
    off = reading - (start + slope * force)
    limit = max(_BLUNDER_OF_SPAN * span, _BLUNDER_SCATTERS * 1.4826 * float(np.median(np.abs(off))))
    blunders = []
    for i in np.flatnonzero(np.abs(off) > limit):
        expected = start + slope * force[i]
        why = next(
            (
                f"{words} ({reading[i] / factor:g} would fit)"
                for factor, words in _SLIPS
                if abs(reading[i] / factor - expected) <= limit
            ),
            None,
        )
        if why is None and slope != 0:
            implied = (reading[i] - start) / slope
            lb_per_kg = 2.2046226
            if force[i] > 0 and abs(implied * lb_per_kg - force[i]) <= 0.03 * force[i]:
                why = "the load looks written in pounds under kilograms"
            elif force[i] > 0 and abs(implied / lb_per_kg - force[i]) <= 0.03 * force[i]:
                why = "the load looks written in kilograms under pounds"
        blunders.append(Blunder(int(i), why or f"about {expected:.6g} would fit"))
    return blunders
