"""Which half-repetitions agree: those that a partner helped or resisted are separated from the rest, bin by bin.

Robust weights on single rows break down when a third or more of the half-repetitions over one bin are off the same way:
the first fit lies between the two groups and no row stands out. Here whole half-repetitions are compared in each bin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from feltload.core import Flags, Floats, Indices
from feltload.signal.movement.movements import without_trends
from feltload.signal.regression.fit import Fit, robust_scale
from feltload.signal.regression.layout import Layout
from feltload.signal.regression.rows import Rows
from feltload.signal.regression.smoothing import Penalty, inverse_of, light_strengths, penalised
from feltload.signal.regression.trimmed_fit import (
    BINS,
    Cells,
    agreeing_within,
    cell_means,
    cells_of,
    closest_halves,
    nearer_half,
    search,
)

LEAST_SHARE = 0.01
"""Less than this share of the largest force is not distinguished from unsteadiness."""

LEAST_SCALES = 5.0
"""Nor is less than this many standard deviations of what half-repetitions differ by anyway."""

SHORTEST_SHARE = 0.05
"""Of the travel: what is off over less is a knock or a jerk, which the weights of single rows see."""

EDGE_SHARE = 0.3
"""A stretch that is left out reaches to where the difference has faded to this share of the least one."""

END_SHARE = 0.08
"""Of the travel: so near to the end of a half-repetition a stretch that is left out goes on to it."""

MOST_SHIFT_S = 0.05
"""How far a single round moves a lag: its column is the slope of the force, true for small shifts only."""

SAME_LAG_S = 0.012
"""Guesses of the lag nearer than this are one guess."""

MOST_ROWS = 4000
LAST_ROUNDS = 4
HUBER = 2.5


@dataclass(frozen=True)
class HalfRepetitions:
    """Usable rows of all sessions by half-repetition and bin.

    Attributes
    ----------
    design, force, q_rad : ndarray, shape (r, p), (r,), (r,)
        Rows; the last columns of the design are for errors of the sessions' lags.
    cell : ndarray of int, shape (r,)
        ``half-repetition * BINS + bin``.
    group : ndarray of int, shape (h,)
        Half-repetitions that should agree: those of one load and direction.
    row : ndarray of int, shape (r,)
        Which of all rows they are.
    """

    design: Floats
    force: Floats
    q_rad: Floats
    cell: Indices
    group: Indices
    row: Indices

    @property
    def number(self) -> Indices:
        """Half-repetition of each row."""
        return np.asarray(self.cell // BINS)

    def means(self, residual: Floats) -> Floats:
        """Mean residual of each half-repetition in each bin, shape (h, BINS); NaN where it did not go."""
        return cell_means(residual, self.cell, self.group.size)

    def solved(self, keep: Flags, residual: Floats, strength: Floats) -> Floats:
        """Coefficients from the half-repetitions kept in each bin; rows far off for their bin count less."""
        chosen = keep.ravel()[self.cell]
        scale = max(robust_scale(residual[chosen]), 1e-9)
        weight = chosen * np.minimum(1.0, HUBER * scale / np.maximum(np.abs(residual), 1e-12))
        weighted = self.design * weight[:, None]
        return np.asarray(inverse_of(self.design.T @ weighted + strength) @ (weighted.T @ self.force))

    def some(self, every: int) -> HalfRepetitions:
        """One repetition out of this many."""
        reps = np.flatnonzero((np.arange(self.group.size) // 2) % every == 0)
        number = np.full(self.group.size, -1)
        number[reps] = np.arange(reps.size)
        inside = number[self.number] >= 0
        cell = number[self.number[inside]] * BINS + self.cell[inside] % BINS
        return HalfRepetitions(
            self.design[inside],
            self.force[inside],
            self.q_rad[inside],
            cell,
            self.group[reps],
            self.row[inside],
        )


def half_repetitions_of(
    sessions: Sequence[Rows], layout: Layout, designs: Sequence[Floats], lags_s: Sequence[float]
) -> HalfRepetitions:
    """Rows of all sessions by half-repetition and bin, with a column for an error of each session's lag."""
    low, high = layout.bases.static.low, layout.bases.static.high
    groups: list[int] = []
    cells, forces, usable = [], [], []
    late = np.zeros((sum(design.shape[0] for design in designs), len(sessions)))
    first = 0
    for k, (rows, lag) in enumerate(zip(sessions, lags_s, strict=True)):
        bin_ = np.clip((rows.q_rad - low) / (high - low) * BINS, 0, BINS - 1).astype(np.int64)
        cells.append((len(groups) + rows.run) * BINS + bin_)
        load = int(np.argmin(np.abs(layout.loads_kg - rows.aligned.load_kg)))
        groups += [2 * load + (run.direction > 0) for run in rows.runs]
        force = rows.aligned.force.at(rows.aligned.time_s[rows.source] + lag)
        late[first : first + rows.run.size, k] = rows.slope @ force
        forces.append(rows.low_pass @ force)
        usable.append(rows.force_valid(lag))
        first += rows.run.size
    row = np.flatnonzero(np.concatenate(usable))
    return HalfRepetitions(
        np.concatenate([np.concatenate(designs), late], axis=1)[row],
        np.concatenate(forces)[row],
        np.concatenate([rows.q_rad for rows in sessions])[row],
        np.concatenate(cells)[row],
        np.array(groups, dtype=np.int64),
        row,
    )


def half_repetitions_differ(
    sessions: Sequence[Rows], layout: Layout, fit: Fit, lags_s: Sequence[float]
) -> bool:
    """Whether some half-repetition is off by more than unsteadiness over two bins in a row.

    Parameters
    ----------
    sessions : sequence of Rows
    layout : Layout
    fit : Fit
        Of all rows.
    lags_s : sequence of float
        Lags of that fit.
    """
    reps = half_repetitions_of(sessions, layout, fit.designs, lags_s)
    means = reps.means(np.concatenate(fit.residuals_n)[reps.row])
    apart = np.nan_to_num(means - closest_halves(means, reps.group))
    least = LEAST_SHARE * float(np.max(np.abs(reps.force)))
    pairs = apart[:, 1:], apart[:, :-1]
    return bool(np.any(np.minimum(*pairs) > least) or np.any(np.maximum(*pairs) < -least))


def find_agreeing(
    sessions: Sequence[Rows], layout: Layout, fit: Fit, guesses_s: Sequence[Sequence[float]]
) -> list[Flags]:
    """Rows of the half-repetitions that agree.

    Parameters
    ----------
    sessions : sequence of Rows
    layout : Layout
    fit : Fit
        Of all rows.
    guesses_s : sequence of sequence of float
        Lags of all sessions to try; half-repetitions that are off may have led the search for the lag astray.

    Returns
    -------
    list of ndarray of bool, shape (r_s,)
        Per session, False for rows of half-repetitions that are off there.

    Notes
    -----
    In each bin and each direction the half of the half-repetitions that lies closest together is kept, the equation
    solved with these, and so on until nothing changes (`trimmed_fit.search`). Then all half-repetitions near the result
    come back, and what is left out is widened to where it has faded.
    """
    extra = len(sessions)
    penalties = [*layout.penalties, *(Penalty(layout.size + k, np.eye(1), 1) for k in range(extra))]
    felt = float(np.max(np.abs(np.concatenate(fit.forces_n))))
    tried: list[Floats] = []
    best, lags, least_loss = np.zeros(layout.size + extra), np.zeros(extra), np.inf
    strength = np.zeros((best.size, best.size))
    for guess in (np.asarray(guess, float) for guess in guesses_s):
        if any(float(np.max(np.abs(guess - other))) < SAME_LAG_S for other in tried):
            continue
        tried.append(guess)
        reps = half_repetitions_of(sessions, layout, fit.designs, guess.tolist())
        reps = reps.some(max(1, reps.force.size // MOST_ROWS))
        trial = penalised(best.size, penalties, light_strengths(reps.design.T @ reps.design, penalties))
        coefficients, loss = _searched(reps, layout, trial, 2.0 * LEAST_SHARE * felt)
        if loss < least_loss:
            best, lags, least_loss, strength = coefficients, guess, loss, trial
    for _ in range(LAST_ROUNDS):
        lags = lags - np.clip(best[layout.size :], -MOST_SHIFT_S, MOST_SHIFT_S)
        reps = half_repetitions_of(sessions, layout, fit.designs, lags.tolist())
        residual = reps.force - reps.design[:, : layout.size] @ best[: layout.size]
        means = reps.means(residual)
        least = max(LEAST_SHARE * felt, LEAST_SCALES * _spread(means, reps.group))
        near = (np.abs(means) < least) | nearer_half(np.abs(means), reps.group)
        best = reps.solved(near, residual, strength)
    kept = np.ones(sum(rows.run.size for rows in sessions), dtype=bool)
    residual = reps.force - reps.design @ best
    off = np.zeros(reps.force.size, dtype=bool)
    stretches = _off(reps, residual, least)
    for stretch in stretches:
        off[stretch] = True
    outvoted = _outvoted(reps, off)
    for stretch in stretches:
        # As a whole, also past the ends where few reps went.
        if np.mean(outvoted[stretch]) > 0.5:
            kept[reps.row[_to_the_ends(reps, stretch)]] = False
    splits = np.cumsum([rows.run.size for rows in sessions])[:-1]
    return np.split(kept, splits)


def _searched(
    reps: HalfRepetitions, layout: Layout, strength: Floats, least_n: float
) -> tuple[Floats, float]:
    cells: Cells = cells_of(reps.design, reps.force, reps.cell, reps.group)
    slices = layout.slices().items()
    design = without_trends(reps.number, reps.q_rad, reps.design)
    force = without_trends(reps.number, reps.q_rad, reps.force[:, None])[:, 0]
    resting = [where for (name, _), where in slices if name in ("static", "friction")]
    first = agreeing_within((design, force), cells, strength, left_out=resting)
    stiffened = [where for (name, _), where in slices if name not in ("static", "viscous")]
    return search(cells, first, strength, stiffened, least_n)


def _spread(means: Floats, group: Indices) -> float:
    """Standard deviation of the means, from the nearer half in each bin that more than two went through."""
    chosen = np.where(nearer_half(np.abs(means), group), means**2, 0.0)
    halves = []
    for number in np.unique(group):
        members = group == number
        count = np.sum(np.isfinite(means[members]), axis=0)
        halves.append(np.sqrt(np.sum(chosen[members], axis=0) / (count // 2 + 1))[count > 2])
    values = np.concatenate(halves)
    # The nearer half of a normal distribution has a root mean square of 0.378 standard deviations.
    return float(np.median(values)) / 0.378 if values.size else 0.0


def _outvoted(reps: HalfRepetitions, off: Flags) -> Flags:
    """Rows in bins where more half-repetitions of their group agree than are off: of two neither is known to be off."""
    shape = (reps.group.size, BINS)
    went = np.bincount(reps.cell, minlength=reps.group.size * BINS).reshape(shape)
    lost = np.bincount(reps.cell[off], minlength=reps.group.size * BINS).reshape(shape)
    fewer = np.zeros(shape, dtype=bool)
    for number in np.unique(reps.group):
        members = reps.group == number
        agree = np.sum(2 * lost[members] < went[members], axis=0)
        fewer[members] = 2 * agree > np.sum(went[members] > 0, axis=0)
    return np.asarray(fewer.ravel()[reps.cell])


def _to_the_ends(reps: HalfRepetitions, stretch: slice) -> slice:
    """The stretch as far as the ends of its half-repetition where these are near: hands do not let go just before."""
    number, q = reps.number, reps.q_rad
    near = END_SHARE * float(np.ptp(q))
    members = np.flatnonzero(number == number[stretch.start])
    first, last = int(members[0]), int(members[-1])
    start = first if abs(q[stretch.start] - q[first]) < near else stretch.start
    stop = last + 1 if abs(q[last] - q[stretch.stop - 1]) < near else stretch.stop
    return slice(start, stop)


def _off(reps: HalfRepetitions, residual: Floats, least: float) -> list[slice]:
    """Stretches of rows of one half-repetition that are off."""
    run = reps.number
    smoothed = residual.copy()
    inner = (run[2:] == run[1:-1]) & (run[:-2] == run[1:-1])
    smoothed[1:-1][inner] = (residual[2:] + residual[1:-1] + residual[:-2])[inner] / 3.0
    shortest = SHORTEST_SHARE * float(np.ptp(reps.q_rad))
    off = []
    for sign in (1.0, -1.0):
        wide = sign * smoothed > EDGE_SHARE * least
        edges = np.flatnonzero(np.diff(np.where(wide, run, -1), prepend=-2, append=-2))
        for start, stop in pairwise(edges):
            core = sign * smoothed[start:stop] > least
            if np.any(core) and float(np.ptp(reps.q_rad[start:stop][core])) > shortest:
                off.append(slice(start, stop))
    return off
