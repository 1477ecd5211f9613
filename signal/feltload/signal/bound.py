"""The least error that any unbiased estimator could have in a session: the Cramér-Rao bound."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feltload.signal.bands import Solved, term_operator
from feltload.signal.smoothing import inverse_of

Floats = NDArray[np.float64]


def cramer_rao_u_n(solved: Solved, noise_n: Sequence[float], q_rad: Floats) -> Floats:
    """Standard deviation of the static force that white noise of the cell alone makes unavoidable.

    Parameters
    ----------
    solved : Solved
        The fit: which terms, which motion.
    noise_n : sequence of float
        Standard deviation of one native force sample, per session.
    q_rad : ndarray, shape (n,)
        Positions.

    Returns
    -------
    ndarray, shape (m, n)

    Notes
    -----
    Fisher's information of the unfiltered equation over the samples that the rows look at, with the motion
    and the lag known. A smoothed estimate is not unbiased and may come out below it.
    """
    layout = solved.layout
    information = np.zeros((layout.size, layout.size))
    for rows, noise in zip(solved.sessions, noise_n, strict=True):
        aligned = rows.aligned
        kept = np.zeros(aligned.time_s.size, dtype=bool)
        half = max(1, round(0.5 * aligned.rate_hz / rows.rows_hz))
        for shift in range(-half, half + 1):
            kept[rows.centre + shift] = True
        design = layout.spread(rows.columns[np.flatnonzero(kept[rows.source])].toarray(), aligned.load_kg)
        native = 1.0 / (aligned.force_step_s * aligned.rate_hz)
        information += design.T @ design * (native / noise**2)
    # Terms that the motion never showed get a weak prior, far below any real information.
    information[np.diag_indices(layout.size)] += 1e-9 * np.trace(information) / layout.size
    operator = term_operator(layout, "static", q_rad)
    variance = np.einsum("ij,jk,ik->i", operator, inverse_of(information), operator, optimize=True)
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)).reshape(layout.loads_kg.size, q_rad.size))
