"""Robust penalised fit of the force equation over all sessions at given lags."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import Flags, Floats, Indices
from feltload.signal.errors import ProfileError
from feltload.signal.regression.layout import Layout
from feltload.signal.regression.rows import Rows
from feltload.signal.regression.smoothing import Smoothed, smooth

HUBER = 1.5
BISQUARE = 6.0
RESIDUAL_MEMORY_S = 0.6
EARLY_ROUNDS = 4
"""Rounds of choosing the smoothness while the weights still change; what is found serves as the next start."""


@dataclass(frozen=True)
class Fit:
    """A fit of the force equation.

    Attributes
    ----------
    layout : Layout
        Where the coefficients sit.
    smoothed : Smoothed
        Coefficients and their covariance.
    designs : tuple of ndarray, shape (r_s, size)
        Rows of each session.
    forces_n, residuals_n, weights : tuple of ndarray, shape (r_s,)
        Filtered force, residual and robust weight of each row.
    kept : tuple of ndarray of bool, shape (r_s,)
        Rows that were not left out beforehand.
    dilution : float
        Effective samples per row (rows are correlated by the low-pass and by what the model leaves out).
    scale_n : float
        Robust standard deviation of the residuals.
    """

    layout: Layout
    smoothed: Smoothed
    designs: tuple[Floats, ...]
    forces_n: tuple[Floats, ...]
    residuals_n: tuple[Floats, ...]
    weights: tuple[Floats, ...]
    kept: tuple[Flags, ...]
    dilution: float
    scale_n: float


def robust_scale(residuals: Floats) -> float:
    """Standard deviation from the median absolute residual."""
    return float(1.4826 * np.median(np.abs(residuals))) if residuals.size else 0.0


class Memory:
    """Autocorrelation of residuals within runs."""

    def __init__(self, runs: Sequence[Indices], shifts: int) -> None:
        """Of sessions one after the other, up to `shifts` rows apart."""
        # Numbers that differ between sessions, so that one array can hold them all.
        run = np.concatenate([k * 1_000_000 + run for k, run in enumerate(runs)])
        self._same = [
            run[shift:] == run[: run.size - shift] for shift in range(min(shifts, run.size - 1) + 1)
        ]

    def dilution(self, residual: Floats) -> float:
        """Effective samples per row from the autocorrelation up to where it has died away."""
        level = float(residual @ residual) / max(residual.size, 1)
        total = 0.0
        for shift, same in enumerate(self._same[1:], start=1):
            product = float((residual[shift:] * same) @ residual[: residual.size - shift])
            correlation = product / max(int(np.count_nonzero(same)), 1) / max(level, 1e-300)
            if correlation < 0.05:
                break
            total += correlation
        return float(np.clip(1.0 / (1.0 + 2.0 * total), 0.02, 1.0))


def fit_at(
    sessions: Sequence[Rows],
    layout: Layout,
    lags_s: Sequence[float],
    *,
    previous: Fit | None = None,
    kept: Sequence[Flags] | None = None,
    rounds: int = 5,
) -> Fit:
    """Fit all sessions at the given lags.

    Parameters
    ----------
    sessions : sequence of Rows
        Filtered rows of each session.
    layout : Layout
        Coefficients.
    lags_s : sequence of float
        Lag of each session's force.
    previous : Fit, optional
        A fit of the same layout at nearby lags to start from.
    kept : sequence of ndarray of bool, shape (r_s,), optional
        Rows that may be used; all when not given.
    rounds : int
        Rounds of reweighting.
    """
    if previous is None:
        designs = tuple(layout.spread(rows.design, rows.aligned.load_kg) for rows in sessions)
    else:
        designs = previous.designs
    forces = tuple(rows.force_n(np.array([lag]))[:, 0] for rows, lag in zip(sessions, lags_s, strict=True))
    usable = [rows.force_valid(lag) for rows, lag in zip(sessions, lags_s, strict=True)]
    kept = [np.ones(there.size, dtype=bool) for there in usable] if kept is None else kept
    usable = [there & good for there, good in zip(usable, kept, strict=True)]
    design, force = np.concatenate(designs), np.concatenate(forces)
    valid = np.concatenate(usable).astype(float)
    if np.sum(valid) < 10:
        raise ProfileError("too little one-way motion to estimate from", remedy="record full repetitions")
    splits = np.cumsum([f.size for f in forces])[:-1]
    runs = [rows.run for rows in sessions]
    memory = Memory(runs, max(2, round(RESIDUAL_MEMORY_S * sessions[0].rows_hz)))
    penalties = layout.penalties
    weights = valid.copy() if previous is None else valid * np.concatenate(previous.weights)
    dilution = 0.5 if previous is None else previous.dilution
    start = None if previous is None else previous.smoothed.strengths
    for number in range(rounds):
        weighted = design * weights[:, None]
        smoothed = smooth(
            dilution * (design.T @ weighted),
            dilution * (weighted.T @ force),
            dilution * float(np.sum(weights * force**2)),
            dilution * float(np.sum(weights)),
            penalties,
            start=start,
            rounds=EARLY_ROUNDS if number < rounds - 1 else 40,
        )
        start = smoothed.strengths
        residual = force - design @ smoothed.coefficients
        scale = max(robust_scale(residual[valid > 0]), 1e-6)
        relative = np.abs(residual) / scale
        if number < 2 and previous is None:
            weights = valid * np.minimum(1.0, HUBER / np.maximum(relative, 1e-12))
        else:
            weights = valid * np.clip(1.0 - (relative / BISQUARE) ** 2, 0.0, None) ** 2
        dilution = memory.dilution(residual * np.sqrt(weights))
    return Fit(
        layout=layout,
        smoothed=smoothed,
        designs=designs,
        forces_n=forces,
        residuals_n=tuple(np.split(residual, splits)),
        weights=tuple(np.split(weights, splits)),
        kept=tuple(kept),
        dilution=dilution,
        scale_n=scale,
    )
