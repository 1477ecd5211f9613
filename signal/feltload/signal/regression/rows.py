"""The equation of the handle force, both sides through the same low-pass, as rows of a regression.

F = f0(q) + m f1(q) + (c0(q) + m c1(q)) s(q') + v q' + (I q'' + I'/2 q'^2) / h(q) + k(q) J q'^2,  I = I0(q) + m I1(q)

h is the handle's travel per radian as the machine's description has it (its variation; 1 when unknown), I/h the felt
inertia, and k takes what h leaves out; J is a typical felt inertia at the load.

Every column is made at the full bandwidth of the motion and then low-passed like the force: filtering is
linear, so the equation still holds. (Columns made from an already filtered angle would not fulfil it.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from feltload.core import Flags, Floats, Indices
from feltload.signal.movement.grid import Aligned
from feltload.signal.movement.movements import Run, find_runs
from feltload.signal.movement.travel import HandleTravel
from feltload.signal.noise.kernels import lowpass_kernel
from feltload.signal.regression.splines import SplineBasis

SIGN_RATE_RAD_S = 0.02
"""Rate at which the smoothed sign of the motion reaches tanh(1); friction is full well above it."""

CUTOFF_HZ = 6.0
"""Low-pass of both sides of the equation: a person's motion lies below it (common practice, no source)."""

ROWS_HZ = 25.0
"""Rate at which filtered rows are kept; the low-pass leaves nothing above half of it."""

TRIM_TURN_S = 0.06
"""Left out at each end of a run that turns without standing."""

TRIM_REST_S = 0.12
"""Left out at each end of a run that starts from or ends in rest (stops, hands off)."""

BELOW_RINGING = 0.5
"""The low-pass lies at most at this part of the frequency at which the machine rings."""

UNFELT_SHARE = 0.003
"""Rows are left out where a stop or an open joint bears more than this share of the largest force."""

NOISY_TRIM_TURN_S, NOISY_TRIM_REST_S = 0.0, 0.08
"""The same where noise hides what friction does around a turn: these rows tell the lag best."""

NOISY_SHARE = 0.002
"""Noise in the passband, as a share of the force, from which that is so."""


@dataclass(frozen=True)
class Bases:
    """Splines of the terms along the travel.

    Attributes
    ----------
    static, friction, inertia : SplineBasis
        For f0 and f1, for c0 and c1, and for I0, I1 and k.
    travel : HandleTravel or None
        Handle travel per radian, when the machine's description states it.
    """

    static: SplineBasis
    friction: SplineBasis
    inertia: SplineBasis
    travel: HandleTravel | None = None

    @property
    def width(self) -> int:
        """Columns of one session: static, friction, viscous, inertia, squared rate."""
        return self.static.size + self.friction.size + 1 + 2 * self.inertia.size

    def travel_share(self, q_rad: Floats) -> Floats:
        """h(q), shape (n,)."""
        return np.ones_like(q_rad) if self.travel is None else self.travel.share(q_rad)

    def felt_inertia(self, q_rad: Floats) -> Floats:
        """Coefficients of I to the felt inertia I/h at a few positions, shape (n, size)."""
        return self.inertia.dense(q_rad) / self.travel_share(q_rad)[:, None]

    def inertia_bend(self, q_rad: Floats) -> Floats:
        """Coefficients of I to the factor I'/(2 h) of the squared rate, shape (n, size)."""
        return self.inertia.dense(q_rad, derivative=1) / (2.0 * self.travel_share(q_rad)[:, None])


@dataclass(frozen=True)
class Rows:
    """Filtered rows of one session.

    Attributes
    ----------
    aligned : Aligned
        The session they come from.
    runs : tuple of Run
        Its runs of one-way motion.
    source : ndarray of int, shape (g,)
        Grid samples that the filters read (the runs with a margin).
    low_pass, slope, bend : sparse arrays, shape (r, g)
        Low-pass to the rows, and the same with one and two time derivatives.
    columns : sparse array, shape (g, width)
        Unfiltered columns of the equation.
    design : ndarray, shape (r, width)
        Filtered columns.
    q_rad, rate_rad_s : ndarray, shape (r,)
        Motion at the rows.
    run : ndarray of int, shape (r,)
        Which run each row belongs to.
    centre : ndarray of int, shape (r,)
        Grid sample at the middle of each row's window.
    rows_hz : float
        Rows per second of motion.
    """

    aligned: Aligned
    runs: tuple[Run, ...]
    source: Indices
    low_pass: scipy.sparse.csr_array
    slope: scipy.sparse.csr_array
    bend: scipy.sparse.csr_array
    columns: scipy.sparse.csr_array
    design: Floats
    q_rad: Floats
    rate_rad_s: Floats
    run: Indices
    centre: Indices
    rows_hz: float

    def force_n(self, lag_s: Floats) -> Floats:
        """Filtered force for trial lags, shape (r, len(lag_s))."""
        time = self.aligned.time_s[self.source]
        shifted = np.stack([self.aligned.force.at(time + lag) for lag in np.atleast_1d(lag_s)], axis=1)
        return np.asarray(self.low_pass @ shifted)

    def force_valid(self, lag_s: float) -> Flags:
        """Rows whose whole window has force samples, shape (r,)."""
        time = self.aligned.time_s[self.source]
        missing = ~self.aligned.force.valid(time + lag_s)
        touched = abs(self.low_pass) @ missing.astype(float)
        return np.asarray(touched < 1e-3)


def cutoff_hz(sessions: Sequence[Aligned]) -> float:
    """Low-pass for the slowest stream: 6 Hz, less when the samples cannot carry it or the machine rings."""
    slowest = max(max(s.force_step_s, s.motion_step_s) for s in sessions)
    ringing = min((s.ringing_hz for s in sessions if s.ringing_hz is not None), default=np.inf)
    return float(min(CUTOFF_HZ, 0.3 / slowest, BELOW_RINGING * ringing))


def kernel(rate_hz: float, cutoff: float) -> tuple[Floats, Floats, Floats]:
    """Zero-phase low-pass of finite length with its first and second time derivative.

    The finite length keeps a stop or a gap from reaching further than half the kernel.
    """
    half = int(np.ceil(0.95 / cutoff * rate_hz))
    taps = lowpass_kernel(half, 2.0 * cutoff / rate_hz, beta=4.0)
    first = np.gradient(np.pad(taps, 2)) * rate_hz
    second = np.gradient(first) * rate_hz
    return np.pad(taps, 2), first, second


def passband_noise_share(aligned: Aligned, cutoff: float) -> float:
    """Noise of the force below the cutoff as a share of the force; that of a fast stream comes out too small."""
    force = aligned.force.value
    if force.size < 8:
        return 0.0
    # White noise has third differences of root 20 times its size; what a person moves has next to none.
    noise = 1.4826 * float(np.median(np.abs(np.diff(force, n=3)))) / np.sqrt(20.0)
    band = min(2.0 * cutoff * aligned.force_step_s, 1.0)
    return float(noise * np.sqrt(band) / max(np.percentile(np.abs(force), 95.0), 1e-9))


def make_rows(aligned: Aligned, bases: Bases, cutoff: float) -> Rows:
    """Filtered rows of all runs of a session."""
    taps, first, second = kernel(aligned.rate_hz, cutoff)
    half = taps.size // 2
    keep_every = max(1, round(aligned.rate_hz / min(ROWS_HZ, 4.2 * cutoff)))
    runs = find_runs(aligned.time_s, aligned.q_rad, aligned.rate_rad_s, aligned.moving_valid)
    trim_turn, trim_rest = TRIM_TURN_S, TRIM_REST_S
    if passband_noise_share(aligned, cutoff) > NOISY_SHARE:
        trim_turn, trim_rest = NOISY_TRIM_TURN_S, NOISY_TRIM_REST_S
    count = aligned.time_s.size
    centres, numbers = [], []
    for number, run in enumerate(runs):
        before = trim_rest if run.rest_before else trim_turn
        after = trim_rest if run.rest_after else trim_turn
        start = max(run.start + round(before * aligned.rate_hz), half)
        stop = min(run.stop - round(after * aligned.rate_hz), count - half)
        rows = np.arange(start, stop, keep_every)
        centres.append(rows)
        numbers.append(np.full(rows.size, number))
    centre = np.concatenate(centres).astype(np.int64) if centres else np.zeros(0, np.int64)
    owner = np.concatenate(numbers).astype(np.int64) if numbers else np.zeros(0, np.int64)
    window = centre[:, None] + np.arange(-half, half + 1)[None, :]
    bad = np.concatenate([[0], np.cumsum(~aligned.moving_valid)])
    clean = bad[window[:, -1] + 1] == bad[window[:, 0]] if centre.size else np.zeros(0, bool)
    if aligned.unfelt_n is not None:
        most_n = UNFELT_SHARE * float(np.percentile(np.abs(aligned.force.value), 98.0))
        clean &= np.abs(aligned.unfelt_n[window] @ taps) < most_n
    centre, owner, window = centre[clean], owner[clean], window[clean]
    read = np.zeros(count, dtype=bool)
    read[window] = True
    source = np.flatnonzero(read)
    position = (np.cumsum(read) - 1)[window]

    def filter_matrix(weights: Floats) -> scipy.sparse.csr_array:
        data = np.broadcast_to(weights, window.shape).ravel()
        pointer = np.arange(0, data.size + 1, window.shape[1])
        return scipy.sparse.csr_array((data, position.ravel(), pointer), shape=(centre.size, source.size))

    # Convolution turns the kernel round; for odd derivatives that is a change of sign.
    low_pass, slope, bend = filter_matrix(taps), filter_matrix(-first), filter_matrix(second)
    columns = equation_columns(
        aligned.q_rad[source], aligned.rate_rad_s[source], aligned.accel_rad_s2[source], bases
    )
    return Rows(
        aligned=aligned,
        runs=tuple(runs),
        source=source,
        low_pass=low_pass,
        slope=slope,
        bend=bend,
        columns=columns,
        design=np.asarray((low_pass @ columns).toarray()),
        q_rad=aligned.q_rad[centre],
        rate_rad_s=aligned.rate_rad_s[centre],
        run=owner,
        centre=centre,
        rows_hz=aligned.rate_hz / keep_every,
    )


def equation_columns(q: Floats, rate: Floats, accel: Floats, bases: Bases) -> scipy.sparse.csr_array:
    """Unfiltered columns: static, friction, viscous, inertia (with I'/2 of the squared rate), squared rate."""
    squared, share = rate**2, bases.travel_share(q)
    bend = bases.inertia.sparse(q, 0.5 * squared / share, derivative=1)
    return scipy.sparse.csr_array(
        scipy.sparse.hstack(
            [
                bases.static.sparse(q),
                bases.friction.sparse(q, np.tanh(rate / SIGN_RATE_RAD_S)),
                scipy.sparse.csr_array(rate[:, None]),
                bases.inertia.sparse(q, accel / share) + bend,
                bases.inertia.sparse(q, squared),
            ],
            format="csr",
        )
    )
