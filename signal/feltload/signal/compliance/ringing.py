"""The first mode of a machine that bends: its frequency and damping, from how the force rings after starts and knocks.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from feltload.core import Floats, Indices
from feltload.signal.noise.kernels import highpass

HIGHEST_HZ = 32.0
"""The grid carries no more."""

OF_RATE = 0.4
"""Part of the sampling rate up to which a mode is seen as it is."""

BANDS = ((5.5, 0.6), (11.0, 0.3))
"""Lowest frequency looked for, above what a person moves, and how long of a burst: what is fast dies away soon."""

BEGIN_S = 0.03
"""A burst is looked at from so long after its peak."""

APART_S = 0.8
MOST_BURSTS = 40
FEWEST_BURSTS = 3
STANDS_OUT = 3.0
"""A burst rises so far above the typical size of what is faster than a person moves."""

CONTRAST, QUIET, LOADED_SHARE = 4.0, 25.0, 0.3
"""What rings begins so far above the quiet parts (that percentile) of the time in which the hands bear this share of
the largest force: a tremor goes on."""

LEAST_SHARE = 0.01
"""And above this share of the largest force."""

LOUD_SHARE = 0.25
"""And above this share of the loudest burst."""

DYING = 2.5
"""Damping that is no chance is this many standard deviations of its mean above none."""

BEFORE_S, AFTER_S = 0.05, 0.3
"""A burst belongs to a start when its peak lies so near to it."""

EVEN_SHARE = 0.1
ORDER = 4
MOST_DAMPING = 0.12
"""What rings less than this is a stop or the hands, not a part that bends."""

EXPLAINED = 0.6
"""Part of a burst's energy that one mode must explain to count."""


@dataclass(frozen=True)
class Mode:
    """First mode of a machine that bends.

    Attributes
    ----------
    frequency_hz, u_frequency_hz : float
        It varies along the travel and with the load; the uncertainty holds that.
    damping, u_damping : float
        Damping ratio.
    bursts, at_starts : int
        How many it was found in, and how many of these follow a start.
    """

    frequency_hz: float
    u_frequency_hz: float
    damping: float
    u_damping: float
    bursts: int
    at_starts: int = 0

    @property
    def even(self) -> bool:
        """Whether it is alike in all bursts, and in several that follow starts: a tremor begins later, and beats."""
        return (
            self.at_starts >= FEWEST_BURSTS
            and self.u_damping < self.damping
            and self.u_frequency_hz < EVEN_SHARE * self.frequency_hz
        )


def find_mode(
    series: Sequence[tuple[Floats, float]],
    starts_s: Sequence[Sequence[float]] | None = None,
    *,
    contrast: float = CONTRAST,
) -> Mode | None:
    """Mode that rings in signals at even steps, None where none does.

    Parameters
    ----------
    series : sequence of (values, rate in Hz)
        The force of each session; NaN where it is not known.
    starts_s : sequence of sequence of float, optional
        When the load came onto the hands, from the first value on, for each session.
    contrast : float
        How far above the quiet parts it must begin.

    Notes
    -----
    Poles common to all bursts by the shift invariance of the signal subspace of their Hankel matrices, then each burst
    is fitted by one of them with amplitudes of its own.

    References
    ----------
    Roy & Kailath 1989, doi:10.1109/29.32276 (ESPRIT).
    """
    rate = min((hertz for _, hertz in series), default=0.0)
    # One rate for all: the poles are per step.
    given = starts_s or [()] * len(series)
    alike = [
        (values, begun) for (values, hertz), begun in zip(series, given, strict=True) if hertz < 1.01 * rate
    ]
    modes = [
        _mode_above(alike, rate, contrast, *band)
        for band in BANDS
        if band[0] < min(HIGHEST_HZ, OF_RATE * rate)
    ]
    return max((mode for mode in modes if mode is not None), key=lambda mode: mode.bursts, default=None)


def _mode_above(
    series: Sequence[tuple[Floats, Sequence[float]]],
    rate: float,
    contrast: float,
    lowest_hz: float,
    length_s: float,
) -> Mode | None:
    highest = min(HIGHEST_HZ, OF_RATE * rate)
    found = [burst for each in series for burst in _bursts(each[0], each[1], rate, lowest_hz, length_s)]
    if len(found) < FEWEST_BURSTS:
        return None
    bursts, quiet = [burst.fast for burst in found], np.array([burst.quiet for burst in found])
    started = np.array([burst.started for burst in found])
    best: tuple[int, Floats, int] | None = None
    for pole in _poles(bursts):
        if not _is_mode(pole, rate, lowest_hz, highest):
            continue
        kept = np.array([_refined(burst, pole) for burst in bursts])
        explains = (kept[:, 1].real > EXPLAINED) & (kept[:, 2].real > contrast * quiet)
        if best is None or np.count_nonzero(explains) > best[0]:
            count = int(np.count_nonzero(explains))
            best = count, kept[explains, 0], int(np.count_nonzero(explains & started))
    if best is None or best[0] < FEWEST_BURSTS:
        return None
    exponents = np.log(best[1])
    hertz, damping = np.abs(exponents) * rate / (2.0 * np.pi), -exponents.real / np.abs(exponents)
    u_hz, u_damping = (1.4826 * float(np.median(np.abs(v - np.median(v)))) for v in (hertz, damping))
    typical, least = float(np.median(damping)), DYING * max(u_damping, 0.003) / np.sqrt(best[0])
    if not lowest_hz < np.median(hertz) < highest or not least < typical < MOST_DAMPING:
        return None
    frequency = float(np.median(hertz))
    u_hz = max(u_hz, 0.01 * frequency)
    return Mode(frequency, u_hz, typical, max(u_damping, 0.003), best[0], best[2])


@dataclass(frozen=True)
class _Burst:
    """What is faster than a person moves after a time at which it stands out, (m,); its size while quiet."""

    fast: Floats
    quiet: float
    started: bool


def _bursts(
    values: Floats, starts_s: Sequence[float], rate_hz: float, lowest_hz: float, length_s: float
) -> list[_Burst]:
    known = np.isfinite(values)
    if np.count_nonzero(known) < 8 * rate_hz * length_s:
        return []
    filled = np.interp(np.arange(values.size), np.flatnonzero(known), values[known])
    fast = highpass(filled, rate_hz, 0.8 * lowest_hz)
    envelope = np.sqrt(np.maximum(np.convolve(fast**2, np.ones(5) / 5.0, "same"), 0.0))
    moves = envelope > 0.0
    if not np.any(moves):
        # A dead cell gives one value throughout.
        return []
    least = max(
        STANDS_OUT * float(np.median(envelope[moves])),
        LEAST_SHARE * float(np.percentile(np.abs(filled), 98.0)),
    )
    loaded = np.abs(filled) > LOADED_SHARE * np.percentile(np.abs(filled), 98.0)
    quiet = float(np.percentile(envelope[loaded], QUIET)) if np.any(loaded) else 0.0
    peaks = _loudest(envelope, least, apart=max(1, round(APART_S * rate_hz)))
    first, length = round(BEGIN_S * rate_hz), round(length_s * rate_hz)
    bursts = [
        _Burst(
            fast[peak + first : peak + first + length],
            quiet,
            any(-BEFORE_S < peak / rate_hz - start < AFTER_S for start in starts_s),
        )
        for peak in np.sort(peaks)
        if peak + first + length < values.size and np.all(known[peak + first : peak + first + length])
    ]
    loud = [float(np.linalg.norm(burst.fast)) for burst in bursts]
    return [burst for burst, size in zip(bursts, loud, strict=True) if size > LOUD_SHARE * max(loud)]


def _loudest(envelope: Floats, least: float, apart: int) -> Indices:
    """Places of the loudest local maxima above `least`, none nearer than `apart` to a louder one."""
    middle = envelope[1:-1]
    tops = 1 + np.flatnonzero((middle > envelope[:-2]) & (middle >= envelope[2:]) & (middle >= least))
    kept: list[int] = []
    for top in tops[np.argsort(-envelope[tops], kind="stable")]:
        if all(abs(top - louder) >= apart for louder in kept):
            kept.append(int(top))
        if len(kept) == MOST_BURSTS:
            break
    return np.array(kept, dtype=np.intp)


def _poles(bursts: Sequence[Floats]) -> list[complex]:
    """Poles per step with a positive frequency, those that hold most first."""
    size = bursts[0].size
    width = size // 2
    # Each burst counts alike: the loudest is no better than the others.
    hankel = [scipy.linalg.hankel(b[:width], b[width - 1 :]) / np.linalg.norm(b) for b in bursts]
    joined = np.concatenate(hankel, axis=1)
    vectors = np.linalg.eigh(joined @ joined.T)[1][:, ::-1][:, :ORDER]
    turn = np.linalg.lstsq(vectors[:-1], vectors[1:], rcond=None)[0]
    values = np.linalg.eigvals(turn)
    return [complex(value) for value in values if value.imag > 0.0]


def _is_mode(pole: complex, rate_hz: float, lowest_hz: float, highest_hz: float) -> bool:
    exponent = np.log(pole)
    hertz = abs(exponent) * rate_hz / (2.0 * np.pi)
    return bool(
        lowest_hz < hertz < highest_hz and -0.02 < -exponent.real / abs(exponent) < 1.5 * MOST_DAMPING
    )


def _refined(burst: Floats, pole: complex) -> tuple[complex, float, float]:
    """The pole moved to where it explains this burst best, the part of its energy explained, and its rms at first."""
    steps = np.arange(burst.size)

    def fit(candidate: complex) -> tuple[float, Floats, Floats]:
        wave = candidate**steps
        design = np.stack([wave.real, wave.imag], axis=1)
        amplitude = np.linalg.lstsq(design, burst, rcond=None)[0]
        left = burst - design @ amplitude
        return float(left @ left), np.asarray(left), np.asarray(amplitude)

    energy = float(burst @ burst)
    loss, left, amplitude = fit(pole)
    for _ in range(4):
        wave = pole**steps
        complex_amplitude = amplitude[0] - 1j * amplitude[1]
        slope = complex_amplitude * steps * pole ** np.maximum(steps - 1, 0)
        design = np.stack([wave.real, wave.imag, slope.real, -slope.imag], axis=1)
        change = np.linalg.lstsq(design, left, rcond=None)[0]
        trial = pole + complex(change[2], change[3])
        after = fit(trial)
        if not after[0] < loss or abs(trial) > 1.02:
            break
        pole, (loss, left, amplitude) = trial, after
    return pole, 1.0 - loss / max(energy, 1e-300), float(np.linalg.norm(amplitude)) / np.sqrt(2.0)
