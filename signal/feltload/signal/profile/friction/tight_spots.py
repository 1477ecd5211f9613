"""Places along the travel where friction stands out of the rest.

Friction may vary smoothly along the travel; a spot is narrower. The curve is taken apart into a cubic along the whole
travel and bells on top of it, one after the other as long as another one stands out.

Widths and thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from feltload.core import Floats, Indices

WIDTHS_RAD = np.radians([1.5, 2.0, 2.5, 3.0, 3.6, 4.3, 5.2, 6.2, 7.4, 8.9])
"""Standard deviations of the bells tried."""

WIDEST_SHARE = 0.09
"""Of the travel: a wider rise is the machine's own course of friction."""

INSIDE_SHARE, INSIDE_WIDTHS = 0.04, 1.0
"""Of the travel, and in widths of the bell: nearer to an end a spot looks like a rise towards it."""

LEAST_SHARE, SMOOTH_SHARE = 0.25, 0.15
"""Of the friction elsewhere: what a spot adds at least, and what a smooth course may seem to add."""

LEAST_N = 1.0
"""Hands hardly feel less."""

RESOLVED_RAD = np.radians(4.0)
"""Places closer together are not independent."""

ELSEWHERE = 0.05
"""Elsewhere is where a bell has fallen below this share of its height."""

HALF_HEIGHT = float(np.sqrt(2.0 * np.log(2.0)))
"""Standard deviations from the middle of a bell to half its height."""

MOST_SPOTS = 3
COURSE_DEGREE = 3
LEAST_ANGLES = 20


@dataclass(frozen=True)
class TightSpot:
    """A place where friction stands out.

    Attributes
    ----------
    angle_rad : float
        Where it is largest.
    low_rad, high_rad : float
        Where half of what it adds is left.
    friction_n : float
        Friction there.
    friction_u95_n : float
        Half-width of its 95 % band.
    rest_n : float
        Mean friction elsewhere.
    excess_n, excess_u95_n : float
        What stands on the course of the rest, with the half-width of its 95 % band.
    """

    angle_rad: float
    low_rad: float
    high_rad: float
    friction_n: float
    friction_u95_n: float
    rest_n: float
    excess_n: float
    excess_u95_n: float


def find_tight_spots(
    angle_rad: Floats, friction_n: Floats, covariance_n2: Floats, *, coverage: float
) -> tuple[TightSpot, ...]:
    """Places where friction stands out of the rest by more than its band, in the order of the travel.

    Parameters
    ----------
    angle_rad, friction_n : ndarray, shape (n,)
        Friction of one load on equally spaced angles.
    covariance_n2 : ndarray, shape (n, n)
        Its covariance.
    coverage : float
        Half-width of a 95 % band in standard uncertainties.

    Notes
    -----
    The largest of many places stands out by chance more often than one in twenty: the limit is that of as many places
    as the travel resolves together (Bonferroni).
    """
    travel = float(angle_rad[-1] - angle_rad[0])
    if angle_rad.size < LEAST_ANGLES or not np.all(np.isfinite(friction_n)):
        return ()
    together = coverage * _joint_factor(max(1, round(travel / RESOLVED_RAD)))
    x = 2.0 * (angle_rad - angle_rad[0]) / travel - 1.0
    looser = np.polynomial.legendre.legvander(x, COURSE_DEGREE + 1)
    powers = looser[:, :-1]
    bells = np.zeros((angle_rad.size, 0))
    found: list[TightSpot] = []
    for _ in range(MOST_SPOTS):
        best: tuple[float, Floats, TightSpot] | None = None
        for index in _peaks(angle_rad, friction_n):
            if np.any(bells[index] > ELSEWHERE):
                continue
            bell = _closest_bell(angle_rad, friction_n, index, np.concatenate([powers, bells], axis=1))
            if bell is None:
                continue
            width, shape = bell
            weights = np.linalg.pinv(np.column_stack([powers, bells, shape]))[-1]
            excess = float(weights @ friction_n)
            # Nobody knows the course below a bell: one degree more is as good a guess.
            other = float(np.linalg.pinv(np.column_stack([looser, bells, shape]))[-1] @ friction_n)
            u = float(np.hypot(np.sqrt(max(float(weights @ covariance_n2 @ weights), 0.0)), other - excess))
            elsewhere = np.all(np.column_stack([bells, shape]) < ELSEWHERE, axis=1)
            rest = float(np.mean(friction_n[elsewhere])) if np.any(elsewhere) else 0.0
            beyond = (excess - SMOOTH_SHARE * rest) / max(u, 1e-9)
            enough = excess >= max(LEAST_SHARE * rest, LEAST_N) and rest > 0.0
            if enough and beyond > together and (best is None or beyond > best[0]):
                half = HALF_HEIGHT * width
                spot = TightSpot(
                    float(angle_rad[index]),
                    float(max(angle_rad[index] - half, angle_rad[0])),
                    float(min(angle_rad[index] + half, angle_rad[-1])),
                    float(friction_n[index]),
                    coverage * float(np.sqrt(covariance_n2[index, index])),
                    rest,
                    excess,
                    coverage * u,
                )
                best = beyond, shape, spot
        if best is None:
            break
        bells = np.column_stack([bells, best[1]])
        found.append(best[2])
    return tuple(sorted(found, key=lambda spot: spot.angle_rad))


def _peaks(angle_rad: Floats, friction_n: Floats) -> Indices:
    """Indices of the local maxima away from the ends."""
    inside = INSIDE_SHARE * float(angle_rad[-1] - angle_rad[0])
    higher = (friction_n[1:-1] > friction_n[:-2]) & (friction_n[1:-1] >= friction_n[2:])
    index = np.flatnonzero(higher) + 1
    away = (angle_rad[index] - angle_rad[0] >= inside) & (angle_rad[-1] - angle_rad[index] >= inside)
    return np.asarray(index[away])


def _closest_bell(
    angle_rad: Floats, friction_n: Floats, index: int, beside: Floats
) -> tuple[float, Floats] | None:
    """Width and shape, (n,), of the bell at a place that leaves least of the curve beside the columns of `beside`."""
    travel = float(angle_rad[-1] - angle_rad[0])
    to_end = min(angle_rad[index] - angle_rad[0], angle_rad[-1] - angle_rad[index])
    best: tuple[float, float, Floats] | None = None
    for width in WIDTHS_RAD:
        if width > WIDEST_SHARE * travel or INSIDE_WIDTHS * width > to_end:
            break
        shape = np.exp(-0.5 * ((angle_rad - angle_rad[index]) / width) ** 2)
        design = np.column_stack([beside, shape])
        left = friction_n - design @ np.linalg.lstsq(design, friction_n, rcond=None)[0]
        if best is None or left @ left < best[0]:
            best = float(left @ left), float(width), shape
    return None if best is None else best[1:]


@lru_cache(maxsize=64)
def _joint_factor(places: int) -> float:
    """Limit that the largest of some independent places exceeds in one case of twenty, over that of one place."""
    from scipy.special import ndtri

    return float(ndtri(1.0 - 0.05 / places) / ndtri(0.975))
