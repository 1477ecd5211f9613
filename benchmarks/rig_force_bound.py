"""The least error that any unbiased estimator could have in a session: the Cramér-Rao bound."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Floats
from feltload.signal.alignment.latency import gradient_n_s
from feltload.signal.alignment.solved import Solved
from feltload.signal.profile.uncertainty.bands import term_operator
from feltload.signal.regression.smoothing import inverse_of, penalised


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


def cramer_rao_lag_s(solved: Solved, noise_n: Sequence[float]) -> Floats:
    """Standard deviation of each session's lag that white noise of the cell alone makes unavoidable.

    Parameters
    ----------
    solved : Solved
        The fit: which terms, which motion, which slope of the force.
    noise_n : sequence of float
        Standard deviation of one native force sample, per session.

    Returns
    -------
    ndarray, shape (sessions,)

    Notes
    -----
    Fisher's information of the low-passed equation with an unknown lag per session beside all its terms, in the
    passband of the regression: what lies above is more noise than motion, and a slow cell does not show it.
    """
    size = solved.layout.size
    variance = np.diag(inverse_of(_passband_information(solved, noise_n)))[size:]
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)))


def least_inertia_u(solved: Solved, noise_n: Sequence[float], q_rad: Floats) -> Floats:
    """Standard deviation of the travel's mean felt inertia that white noise of the cell alone leaves, per load.

    Parameters
    ----------
    solved : Solved
        The fit: which terms, which motion, how smooth.
    noise_n : sequence of float
        Standard deviation of one native force sample, per session.
    q_rad : ndarray, shape (n,)
        Positions over which the mean is taken.

    Returns
    -------
    ndarray, shape (m,)
        In N per rad/s².

    Notes
    -----
    Van Trees' bound: information of the data in the passband, lags unknown, and of the smoothness that the fit found.
    Terms as free as the splines allow would leave two to four times as much.

    References
    ----------
    Van Trees (1968), Detection, Estimation, and Modulation Theory I, section 2.4.
    """
    layout, fit = solved.layout, solved.fit
    information = _passband_information(solved, noise_n)
    prior = penalised(layout.size, layout.penalties, fit.smoothed.strengths) / fit.smoothed.variance
    information[: layout.size, : layout.size] += prior
    means = term_operator(layout, "inertia", q_rad).reshape(layout.loads_kg.size, q_rad.size, -1).mean(axis=1)
    covariance = inverse_of(information)[: layout.size, : layout.size]
    return np.asarray(np.sqrt(np.einsum("ij,jk,ik->i", means, covariance, means)))


def _passband_information(solved: Solved, noise_n: Sequence[float]) -> Floats:
    """Fisher's information on the coefficients and the sessions' lags, shape (size + sessions,) squared."""
    layout, fit = solved.layout, solved.fit
    size, count = layout.size, len(solved.sessions)
    information = np.zeros((size + count, size + count))
    for k, (rows, design, noise) in enumerate(zip(solved.sessions, fit.designs, noise_n, strict=True)):
        late = np.zeros((design.shape[0], count))
        late[:, k] = gradient_n_s(rows, layout, fit)
        columns = np.concatenate([design, late], axis=1)
        # Native samples per row: the rows carry all of a band-limited signal, the samples all of the noise in its band.
        native = 1.0 / (rows.aligned.force_step_s * rows.rows_hz)
        information += columns.T @ columns * (native / noise**2)
    # Terms that the motion never showed get a weak prior, far below any real information.
    information[np.diag_indices(size)] += 1e-9 * np.trace(information[:size, :size]) / size
    return information
