"""Statistical covariance of the static profile, honest about residuals that hang together."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Floats, coverage_95
from feltload.signal.regression.smoothing import inverse_of

if TYPE_CHECKING:
    from feltload.signal.alignment.solved import Solved
    from feltload.signal.regression.layout import Layout

MOST_CLUSTERS = 48
POOLED_SHARE = 0.3
"""Part of the travel over which the effect of clustering is averaged: few runs tell it poorly at one angle."""


def term_values(layout: Layout, term: str, q_rad: Floats) -> Floats:
    """Coefficients of one term to its values along the travel, shape (n, size of its basis)."""
    if term == "inertia":
        return layout.bases.felt_inertia(q_rad)
    bases = {"static": layout.bases.static, "friction": layout.bases.friction}
    return bases.get(term, layout.bases.inertia).dense(q_rad)


def term_operator(layout: Layout, term: str, q_rad: Floats) -> Floats:
    """Coefficients to one term of all loads along the travel, shape (m * n, p)."""
    basis = term_values(layout, term, q_rad)
    slices = layout.slices()
    out = np.zeros((layout.loads_kg.size, q_rad.size, layout.size))
    for k, load in enumerate(layout.loads_kg):
        out[k][:, slices[term, False]] = basis
        if (term, True) in slices:
            out[k][:, slices[term, True]] = basis * layout.relative(float(load))
    return out.reshape(-1, layout.size)


def statistical_covariance(solved: Solved, operator: Floats, *, angles: int) -> tuple[Floats, float]:
    """Covariance of the static profile from noise, unsteadiness and smoothing.

    Parameters
    ----------
    solved : Solved
        The fit.
    operator : ndarray, shape (m * n, p)
        From coefficients to the static profile.
    angles : int
        n.

    Returns
    -------
    ndarray, shape (m * n, m * n)
        Covariance.
    float
        Degrees of freedom of its size.

    Notes
    -----
    The penalised fit's own (Bayesian) covariance holds the smoothing bias but takes residuals for
    independent beyond their short memory. Leaving out one run after the other shows how much more the
    curve really moves; the ratio of the two, pooled along the travel and never below one, widens it.

    References
    ----------
    Wood (2006), On confidence intervals for generalized additive models, doi:10.1111/j.1467-842X.2006.00450.x;
    Cameron & Miller (2015), A practitioner's guide to cluster-robust inference, doi:10.3368/jhr.50.2.317
    (the jackknife form CV3).
    """
    fit = solved.fit
    variance = fit.smoothed.variance
    base = variance * operator @ solved.inverse @ operator.T
    noise = variance * np.einsum(
        "ij,jk,ik->i", operator, solved.inverse @ solved.data @ solved.inverse, operator, optimize=True
    )
    moves = _left_out(solved) @ operator.T
    clusters = moves.shape[0]
    if clusters < 3:
        return base, 1.0
    moved = (clusters - 1) / clusters * np.sum(moves**2, axis=0)
    width = max(1, round(POOLED_SHARE * angles))
    window = np.ones(width)
    widen = np.ones(noise.size)
    for start in range(0, noise.size, angles):
        part = slice(start, start + angles)
        ratio = np.convolve(moved[part], window, "same") / np.maximum(
            np.convolve(noise[part], window, "same"), 1e-300
        )
        widen[part] = np.sqrt(np.clip(ratio, 1.0, 400.0))
    return base * widen[:, None] * widen[None, :], float(max(clusters - 1, 1))


def _left_out(solved: Solved) -> Floats:
    """Change of the coefficients when each cluster of runs is left out, shape (clusters, p)."""
    fit = solved.fit
    pieces = []
    for rows, design, weight, residual in zip(
        solved.sessions, fit.designs, fit.weights, fit.residuals_n, strict=True
    ):
        edges = np.flatnonzero(np.diff(rows.run, prepend=-1, append=-2))
        for start, stop in pairwise(edges):
            if np.any(weight[start:stop] > 0):
                pieces.append((design[start:stop], weight[start:stop], residual[start:stop]))
    count = min(len(pieces), MOST_CLUSTERS)
    if count < 2:
        return np.zeros((0, solved.layout.size))
    # Whole runs dealt out in turn: neighbours go to different clusters, each spans the session.
    moves = np.empty((count, solved.layout.size))
    for k in range(count):
        held = np.zeros_like(solved.data)
        score = np.zeros(solved.layout.size)
        for design, weight, residual in pieces[k::count]:
            held += design.T @ (design * weight[:, None])
            score += design.T @ (weight * residual)
        moves[k] = inverse_of(solved.penalised - fit.dilution * held) @ (fit.dilution * score)
    return moves


def half_width_95(u_n: Floats, statistical_u_n: Floats, freedom: float) -> Floats:
    """Half-width of the 95 % band (GUM G.4: Student's factor at the effective degrees of freedom)."""
    share = (statistical_u_n / np.maximum(u_n, 1e-300)) ** 4
    effective = np.clip(freedom / np.maximum(share, 1e-12), 1.0, 1e6)
    return np.asarray(np.vectorize(coverage_95, otypes=[float])(effective) * u_n)
