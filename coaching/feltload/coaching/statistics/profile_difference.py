"""Two resistance profiles held against each other: left arm and right arm, today and another day, two machines."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt
from scipy import sparse

from feltload.coaching.errors import OverlapError
from feltload.core import Flags, Floats
from feltload.signal import ProfileEstimate

SMALLEST_OVERLAP_RAD = np.deg2rad(5.0)
SAME_LOAD_KG = 0.001
FEWEST_ANGLES = 3
DRAWS = 4000


@dataclass(frozen=True)
class ProfileDifference:
    """First profile minus second.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
        Angles that both cover: those of the first.
    loads_kg : ndarray, shape (m,)
        Loads that both were measured at.
    difference_n, u95_n : ndarray, shape (m, n)
        Of the static force, and half-width of its 95 % band at each angle by itself.
    curve_u95_n : ndarray, shape (m, n)
        Half-width of the band that holds the whole curve of a load in 95 % of cases: a curve of many angles leaves the
        band of single angles somewhere more often than in one case of twenty.
    mean_n, mean_u95_n : ndarray, shape (m,)
        Over the travel.
    reference_n : float
        Largest static force of the two, to which a difference may be related.
    """

    angle_rad: Floats
    loads_kg: Floats
    difference_n: Floats
    u95_n: Floats
    curve_u95_n: Floats
    mean_n: Floats
    mean_u95_n: Floats
    reference_n: float

    @property
    def significant(self) -> Flags:
        """Where the difference is larger than its band at that angle, shape (m, n)."""
        return np.asarray(np.abs(self.difference_n) > self.u95_n)

    @property
    def established(self) -> Flags:
        """Where it leaves the band of the whole curve: no chance find among many angles, shape (m, n)."""
        return np.asarray(np.abs(self.difference_n) > self.curve_u95_n)


def profile_difference(
    first: ProfileEstimate, second: ProfileEstimate, *, common_sources: Collection[str] = ()
) -> ProfileDifference:
    """Difference of two measured profiles at equal angle and load, with its band.

    Parameters
    ----------
    first, second : ProfileEstimate
    common_sources : collection of str
        Budget items (by name) whose error both share, such as the gain of the one cell used for both: what of it is
        alike cancels. Everything else counts as independent, which can only widen the band.

    Raises
    ------
    OverlapError
        When they share less than five degrees of travel, or no load.

    Notes
    -----
    With C1 and C2 the covariances and a, b the signed curves of a common source, the difference has the covariance
    ``C1 + C2 - sum(a b' + b a')`` (JCGM 100:2008, 5.2.2).
    """
    low, high = (
        max(first.angle_rad[0], second.angle_rad[0]),
        min(first.angle_rad[-1], second.angle_rad[-1]),
    )
    if high - low < SMALLEST_OVERLAP_RAD:
        raise OverlapError(
            "the two profiles share less than 5° of travel", remedy="measure both over the same travel"
        )
    near = np.abs(first.loads_kg[:, None] - second.loads_kg[None, :]) < SAME_LOAD_KG
    rows_first, rows_second = np.nonzero(near)
    if not rows_first.size:
        raise OverlapError(
            f"no load was measured in both ({_listed(first.loads_kg)} kg and {_listed(second.loads_kg)} kg)",
            remedy="measure both with the same load",
        )
    inside = (first.angle_rad >= low - 1e-9) & (first.angle_rad <= high + 1e-9)
    angle = first.angle_rad[inside]
    to_first = _at(first, angle, rows_first)
    to_second = _at(second, angle, rows_second)
    shape = (rows_first.size, angle.size)
    difference = (to_first @ first.static_n.ravel() - to_second @ second.static_n.ravel()).reshape(shape)
    covariance = _sandwich(to_first, first.covariance_n2) + _sandwich(to_second, second.covariance_n2)
    theirs = {item.source: item.curve_n for item in second.budget if item.systematic}
    for item in first.budget:
        if item.systematic and item.source in common_sources and item.source in theirs:
            a, b = to_first @ item.curve_n.ravel(), to_second @ theirs[item.source].ravel()
            covariance -= np.outer(a, b) + np.outer(b, a)
    # A load that does not cover an angle has no force there.
    known = np.isfinite(difference).all(axis=0) & np.isfinite(np.diag(covariance).reshape(shape)).all(axis=0)
    angle, difference = angle[known], difference[:, known]
    if angle.size < FEWEST_ANGLES:
        raise OverlapError(
            f"the two profiles cover only {angle.size} angles in common",
            remedy="measure both over the same travel",
        )
    rows = np.tile(known, shape[0])
    covariance, shape = covariance[np.ix_(rows, rows)], difference.shape
    factor = max(_factor(first), _factor(second))
    u = np.sqrt(np.clip(np.diag(covariance), 0.0, None)).reshape(shape)
    widened = np.array(
        [
            _curve_factor(covariance[start : start + angle.size, start : start + angle.size])
            for start in range(0, difference.size, angle.size)
        ]
    )
    means = np.kron(np.eye(shape[0]), np.full((1, shape[1]), 1.0 / shape[1]))
    mean_u = np.sqrt(np.clip(np.diag(means @ covariance @ means.T), 0.0, None))
    return ProfileDifference(
        angle_rad=angle,
        loads_kg=first.loads_kg[rows_first],
        difference_n=difference,
        u95_n=factor * u,
        curve_u95_n=factor * widened[:, None] * u,
        mean_n=difference.mean(axis=1),
        mean_u95_n=factor * mean_u,
        reference_n=float(max(np.max(np.abs(first.static_n)), np.max(np.abs(second.static_n)))),
    )


def _at(estimate: ProfileEstimate, angle: Floats, loads: npt.NDArray[np.intp]) -> sparse.csr_array:
    """Linear interpolation from the flat (load, angle) grid of an estimate, shape (len(loads) * n, m * k)."""
    grid = estimate.angle_rad
    right = np.clip(np.searchsorted(grid, angle), 1, grid.size - 1)
    share = np.clip((angle - grid[right - 1]) / (grid[right] - grid[right - 1]), 0.0, 1.0)
    offset = (loads * grid.size)[:, None]
    columns = np.concatenate([(offset + right - 1).ravel(), (offset + right).ravel()])
    values = np.concatenate([np.tile(1.0 - share, loads.size), np.tile(share, loads.size)])
    rows = np.tile(np.arange(loads.size * angle.size), 2)
    size = (loads.size * angle.size, estimate.loads_kg.size * grid.size)
    return sparse.csr_array((values, (rows, columns)), shape=size)


def _sandwich(operator: sparse.csr_array, covariance: Floats) -> Floats:
    return np.asarray(operator @ (operator @ covariance).T)


def _factor(estimate: ProfileEstimate) -> float:
    """Coverage factor that the estimate's own band was made with (Student's at its degrees of freedom)."""
    u = np.sqrt(np.maximum(np.diag(estimate.covariance_n2), 1e-300))
    return float(np.nanmedian(estimate.static_u95_n.ravel() / u))


def _curve_factor(covariance: Floats) -> float:
    """How much wider the band of a whole curve is than that of a single angle, from draws with its correlation."""
    u = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    values, vectors = np.linalg.eigh(covariance / np.outer(u, u))
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    draws = np.random.default_rng(1).standard_normal((DRAWS, u.size)) @ root.T
    return float(max(1.0, np.quantile(np.abs(draws).max(axis=1), 0.95) / NormalDist().inv_cdf(0.975)))


def _listed(loads_kg: Floats) -> str:
    return ", ".join(f"{load:g}" for load in loads_kg)
