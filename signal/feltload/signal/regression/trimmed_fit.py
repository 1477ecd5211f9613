"""The half of the half-repetitions that agree, found by concentration from several starts.

A half-repetition is one raising or one lowering; a bin is one of a few equal parts of the travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from feltload.core import Flags, Floats, Indices
from feltload.signal.regression.smoothing import inverse_of

BINS = 12
"""Parts of the travel over which half-repetitions are compared."""

NEAR_SHARE = 0.1
"""Of two halves equally close together the one nearer to the present fit is taken."""

STIFF_ROUNDS, STIFF = 3, 300.0
"""The first rounds let friction and inertia hardly vary along the travel: few rows could bend them as they like."""

ROUNDS = 8
ROWS_PER_CELL = 2
DRAWN_STARTS = 12
MOST_REFINED = 4


@dataclass(frozen=True)
class Cells:
    """Rows by half-repetition and bin, few for each.

    Attributes
    ----------
    design, force : ndarray, shape (r, p), (r,)
        Rows, each the sum of `count` neighbours over the root of their number, so that it counts as those.
    count : ndarray, shape (r,)
    cell : ndarray of int, shape (r,)
        ``half-repetition * BINS + bin``.
    group : ndarray of int, shape (h,)
        Half-repetitions that should agree: those of one load and direction.
    """

    design: Floats
    force: Floats
    count: Floats
    cell: Indices
    group: Indices

    def means(self, coefficients: Floats) -> Floats:
        """Mean residual of each half-repetition in each bin, shape (h, BINS); NaN where it did not go."""
        root = np.sqrt(self.count)
        return cell_means((self.force - self.design @ coefficients) / root, self.cell, self.group.size)

    def solved(self, keep: Flags, strength: Floats) -> Floats:
        """Coefficients from the half-repetitions kept in each bin."""
        chosen = keep.ravel()[self.cell]
        design = self.design[chosen]
        normal = design.T @ design + strength
        scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), np.finfo(float).tiny))
        normal = normal * scale[:, None] * scale
        normal[np.diag_indices_from(normal)] += 1e-11
        factor = scipy.linalg.cho_factor(normal, check_finite=False)
        right = scale * (design.T @ self.force[chosen])
        return np.asarray(scale * scipy.linalg.cho_solve(factor, right, check_finite=False))


def cell_means(values: Floats, cell: Indices, half_repetitions: int) -> Floats:
    """Mean of the rows of each half-repetition in each bin, shape (h, BINS); NaN where there are none."""
    count = np.bincount(cell, minlength=half_repetitions * BINS)
    total = np.bincount(cell, weights=values, minlength=half_repetitions * BINS)
    return np.asarray((total / np.where(count > 0, count, np.nan)).reshape(-1, BINS))


def cells_of(design: Floats, force: Floats, cell: Indices, group: Indices) -> Cells:
    """Rows with neighbours averaged, about `ROWS_PER_CELL` for each half-repetition and bin.

    Parameters
    ----------
    design, force : ndarray, shape (r, p), (r,)
    cell : ndarray of int, shape (r,)
        ``half-repetition * BINS + bin``, rows in the order of time.
    group : ndarray of int, shape (h,)
    """
    edges = np.flatnonzero(np.diff(cell, prepend=-1))
    size = np.diff(np.append(edges, cell.size))
    within = np.arange(cell.size) - np.repeat(edges, size)
    per = np.repeat(np.ceil(size / ROWS_PER_CELL).astype(np.int64), size)
    starts = np.flatnonzero(within % per == 0)
    count = np.diff(np.append(starts, cell.size))
    root = np.sqrt(count)
    summed = np.add.reduceat(design, starts, axis=0) / root[:, None]
    return Cells(summed, np.add.reduceat(force, starts) / root, count.astype(float), cell[starts], group)


def closest_halves(means: Floats, group: Indices) -> Floats:
    """Middle of the closest half of the half-repetitions of a group in each bin, shape (h, BINS)."""
    centre = np.zeros_like(means)
    for number in np.unique(group):
        members = group == number
        ordered = np.sort(means[members], axis=0)
        counts = np.sum(np.isfinite(ordered), axis=0)
        for bin_ in np.flatnonzero(counts):
            values = ordered[: counts[bin_], bin_]
            half = values.size // 2 + 1
            low, high = values[: values.size - half + 1], values[half - 1 :]
            best = int(np.argmin(high - low + NEAR_SHARE * 0.5 * np.abs(low + high)))
            centre[members, bin_] = values[best : best + half].mean()
    return centre


def nearer_half(distance: Floats, group: Indices) -> Flags:
    """The nearer half of each group in each bin, shape (h, BINS)."""
    keep = np.zeros(distance.shape, dtype=bool)
    for number in np.unique(group):
        members = np.flatnonzero(group == number)
        rank = np.argsort(np.argsort(distance[members], axis=0), axis=0)
        there = np.isfinite(distance[members])
        keep[members] = (rank < np.sum(there, axis=0) // 2 + 1) & there
    return keep


def _along(distance: Floats) -> Floats:
    """Distances averaged with those in the bins before and after: hands that push go on for a while."""
    there = np.pad(np.isfinite(distance).astype(float), ((0, 0), (1, 1)))
    filled = np.pad(np.nan_to_num(distance), ((0, 0), (1, 1)))
    total = 0.5 * filled[:, 1:-1] + 0.25 * (filled[:, 2:] + filled[:, :-2])
    count = 0.5 * there[:, 1:-1] + 0.25 * (there[:, 2:] + there[:, :-2])
    return np.where(np.isfinite(distance), total / np.maximum(count, 0.25), np.nan)


def search(
    cells: Cells, first: Flags, strength: Floats, stiffened: Sequence[slice], least_n: float
) -> tuple[Floats, float]:
    """Coefficients that most half-repetitions agree on in most bins.

    Parameters
    ----------
    cells : Cells
    first : ndarray of bool, shape (h, BINS)
        A good guess of what agrees.
    strength : ndarray, shape (p, p)
        Penalties.
    stiffened : sequence of slice
        Coefficients kept from varying in the first rounds.
    least_n : float
        Half-repetitions that are off by this or more all count alike.

    Returns
    -------
    ndarray, shape (p,)
        Coefficients.
    float
        Loss: bins of half-repetitions that are off, those off by less counted less.

    References
    ----------
    Rousseeuw & Van Driessen (2006), Computing LTS regression for large data sets, doi:10.1007/s10618-005-0024-4
    (few rounds from many starts, the best ones carried on).
    """
    stiff = strength.copy()
    for where in stiffened:
        stiff[where, where] *= STIFF

    def loss(coefficients: Floats) -> float:
        means = cells.means(coefficients)
        return float(np.sum(np.minimum((means[np.isfinite(means)] / least_n) ** 2, 1.0)))

    def concentrated(coefficients: Floats, strengths: Floats, most: int, *, along: bool) -> Floats:
        before = np.zeros((cells.group.size, BINS), dtype=bool)
        for _ in range(most):
            means = cells.means(coefficients)
            distance = np.abs(means - closest_halves(means, cells.group))
            keep = nearer_half(_along(distance) if along else distance, cells.group)
            if np.array_equal(keep, before):
                break
            coefficients, before = cells.solved(keep, strengths), keep
        return coefficients

    firsts = [
        concentrated(cells.solved(keep, stiff), stiff, STIFF_ROUNDS, along=along)
        for keep in (first, *_starts(cells.group))
        for along in (False, True)
    ]
    firsts.sort(key=loss)
    ends = [
        concentrated(start, strength, ROUNDS, along=along)
        for start in firsts[:MOST_REFINED]
        for along in (False, True)
    ]
    best = min(ends, key=loss)
    return best, loss(best)


def _starts(group: Indices) -> list[Flags]:
    """What to start from, each (h, BINS): all, the earlier ones, the later ones, a third drawn at random."""
    count = group.size
    early = np.arange(count) < (count + 1) // 2
    rng = np.random.default_rng(0)
    chosen = [np.ones(count, dtype=bool), early, ~early]
    for _ in range(DRAWN_STARTS):
        taken = np.zeros(count, dtype=bool)
        for number in np.unique(group):
            members = np.flatnonzero(group == number)
            taken[rng.permutation(members)[: max(members.size // 3, 2)]] = True
        chosen.append(taken)
    return [np.repeat(taken[:, None], BINS, axis=1) for taken in chosen]


def agreeing_within(
    rows_of: tuple[Floats, Floats], cells: Cells, strength: Floats, *, left_out: Sequence[slice]
) -> Flags:
    """What agrees when the cost of moving is solved for within each half-repetition, which a steady push leaves alone.

    Parameters
    ----------
    rows_of : tuple of ndarray, shape (r, p) and (r,)
        Design and force, less their trend in each half-repetition.
    cells : Cells
    strength : ndarray, shape (p, p)
    left_out : sequence of slice
        Coefficients of what does not depend on speed: the half-repetitions themselves show it.
    """
    design, force = rows_of
    coefficients = inverse_of(design.T @ design + strength) @ (design.T @ force)
    for where in left_out:
        coefficients[where] = 0.0
    means = cells.means(coefficients)
    for number in np.unique(cells.group):
        members = cells.group == number
        level = np.nanmedian(np.where(np.isfinite(means[members]), means[members], 0.0), axis=0)
        means[members] -= level
    return nearer_half(_along(np.abs(means - closest_halves(means, cells.group))), cells.group)
