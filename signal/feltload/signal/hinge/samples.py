"""Inertial samples cleaned: finite, in time order, without what a disturbed link or a sensor at its limit made up.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Fact, Flags, Floats, Severity, runs_of_true
from feltload.signal.errors import MotionError
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.holes import SHORTEST_PIECE_S, pieces_between_holes
from feltload.signal.hinge.outliers import bridged, disturbed_stretches, wild_samples
from feltload.signal.noise.filters import median_rate

#: No accelerometer range ends below 2 g, and no gyro range below 125 degrees per second.
SMALLEST_ACCEL_RANGE_M_S2 = 18.5
SMALLEST_GYRO_RANGE_RAD_S = 2.1
#: A limit set lower (by a scale or a logger) shows as flat tops: at least this many, of this many samples, finer steps.
FLAT_RUNS, FLAT_SAMPLES, FINE_STEPS = 3, 5, 20
#: A gyroscope at its limit in more than this part of its samples misses what makes the profile.
MUCH_AT_LIMIT = 0.02
SHORTEST_S = 2.0
#: A link that repeats its last reading this often has lost the sensor; a resting arm may repeat itself.
STUCK_SAMPLES = 4
STUCK_RAD_S = 0.1
#: A table of finer steps than the sensor repeats more than this share of the rows in motion, and at least this many.
AGAIN_SHARE, AGAIN_FEWEST = 0.25, 40


@dataclass(frozen=True)
class InertialSamples:
    """Clean samples in time order.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Strictly increasing.
    gyro, accel : ndarray, shape (n, 3)
    gyro_clipped, accel_clipped : ndarray of bool, shape (n,)
    rate_hz : float
    warnings : tuple of Fact
    """

    time_s: Floats
    gyro: Floats
    accel: Floats
    gyro_clipped: Flags
    accel_clipped: Flags
    rate_hz: float
    warnings: tuple[Fact, ...]

    @cached_property
    def pieces(self) -> tuple[slice, ...]:
        """Samples between holes, in order."""
        return pieces_between_holes(self.time_s, self.rate_hz)

    def span_s(self, piece: slice) -> tuple[float, float]:
        """Times of the first and last sample of a piece."""
        return float(self.time_s[piece.start]), float(self.time_s[piece.stop - 1])

    def only(self, kept: Sequence[slice]) -> InertialSamples:
        """The samples of some pieces."""
        rows = np.concatenate([np.arange(piece.start, piece.stop) for piece in kept])
        return replace(
            self,
            time_s=self.time_s[rows],
            gyro=self.gyro[rows],
            accel=self.accel[rows],
            gyro_clipped=self.gyro_clipped[rows],
            accel_clipped=self.accel_clipped[rows],
        )


def clean_samples(time_s: ArrayLike, gyro_rad_s: ArrayLike, accel_m_s2: ArrayLike) -> InertialSamples:
    """Finite samples in increasing time, with clipped ones marked."""
    times = np.asarray(time_s, dtype=float).ravel()
    gyro, accel = np.asarray(gyro_rad_s, dtype=float), np.asarray(accel_m_s2, dtype=float)
    if gyro.shape != (len(times), 3) or accel.shape != (len(times), 3):
        raise MotionError(
            f"gyro {gyro.shape} and accelerometer {accel.shape} for {len(times)} times",
            remedy="give three columns of each per sample",
        )
    # What is not finite shows in the sum: three reductions along short rows are saved.
    good = np.isfinite(times + gyro @ np.ones(3) + accel @ np.ones(3))
    warnings = []
    if not np.all(good):
        warnings.append(Fact(HingeFact.NO_VALUE, Severity.NOTE, figures={"count": int((~good).sum())}))
    kept = times[good]
    order = np.flatnonzero(good)
    if len(kept):
        newest = np.maximum.accumulate(kept)
        rising = np.concatenate([[True], kept[1:] > newest[:-1]])
        if not np.all(rising):
            count = int((~rising).sum())
            warnings.append(Fact(HingeFact.REPEATED_TIMES, Severity.NOTE, figures={"count": count}))
            order = order[rising]
    repeated = _sent_again(gyro[order], accel[order])
    if np.any(repeated):
        kept = order[~repeated]
        figures = {"count": int(repeated.sum()), "rate_hz": median_rate(times[kept])}
        warnings.append(Fact(HingeFact.REPEATED_READINGS, Severity.NOTE, figures=figures))
        order = kept
    all_kept = len(order) == len(times)
    stuck = _stuck(gyro, accel) if all_kept else _stuck(gyro[order], accel[order])
    if np.any(stuck):
        warnings.append(_counted(HingeFact.STUCK_READING, times[order], stuck))
        order = order[~stuck]
    if len(order) < 8 or times[order[-1]] - times[order[0]] < SHORTEST_S:
        raise MotionError(
            "less than two seconds of inertial data", remedy="record a rest and a few repetitions"
        )
    if len(order) < len(times):
        times, gyro, accel = times[order], gyro[order], accel[order]
    rate_hz = median_rate(times)
    wild = wild_samples(times, gyro, accel, rate_hz)
    if np.any(wild):
        warnings.append(_counted(HingeFact.WILD_SAMPLES, times, wild))
        gyro = bridged(times, gyro, wild)
    disturbed = disturbed_stretches(gyro, rate_hz)
    if np.any(disturbed):
        warnings.append(_counted(HingeFact.JUMPS_ABOUT, times, disturbed))
        gyro = bridged(times, gyro, disturbed)
    gyro_clipped = _clipped(gyro, SMALLEST_GYRO_RANGE_RAD_S, 4)
    accel_clipped = _clipped(accel, SMALLEST_ACCEL_RANGE_M_S2, 2)
    for name, flags in (("gyroscope", gyro_clipped), ("accelerometer", accel_clipped)):
        if np.any(flags):
            much = name == "gyroscope" and float(np.mean(flags)) > MUCH_AT_LIMIT
            severity = Severity.SERIOUS if much else Severity.CAUTION
            warnings.append(_counted(HingeFact.AT_LIMIT, times, flags, severity, sensor=name))
    gyro_clipped |= disturbed
    return InertialSamples(times, gyro, accel, gyro_clipped, accel_clipped, rate_hz, tuple(warnings))


def without_fragments(samples: InertialSamples) -> tuple[InertialSamples, list[tuple[float, float]]]:
    """The samples without pieces too short to be placed, and the spans of these."""
    spans = [samples.span_s(piece) for piece in samples.pieces]
    short = [stop - start < SHORTEST_PIECE_S for start, stop in spans]
    if not any(short):
        return samples, []
    if all(short):
        raise MotionError(
            f"the inertial stream is broken into {len(spans)} pieces, none of {SHORTEST_PIECE_S:g} s",
            remedy="check the sensor's cable or battery and record again",
        )
    kept = [piece for piece, lost in zip(samples.pieces, short, strict=True) if not lost]
    return samples.only(kept), [span for span, lost in zip(spans, short, strict=True) if lost]


def longest_piece(samples: InertialSamples) -> slice:
    """The piece between holes that lasts longest."""
    return max(samples.pieces, key=lambda piece: samples.time_s[piece.stop - 1] - samples.time_s[piece.start])


def _counted(
    kind: HingeFact, times: Floats, flags: Flags, severity: Severity = Severity.CAUTION, **figures: str
) -> Fact:
    """A fact about flagged samples: how many, from the first to the last."""
    where = times[flags]
    span = (float(where[0]), float(where[-1]))
    return Fact(kind, severity, span_s=span, figures={**figures, "count": int(flags.sum())})


def _alike(gyro: Floats, accel: Floats) -> Flags:
    """Readings that are those before, all six numbers, (n,)."""
    flags = np.zeros(len(gyro), dtype=bool)
    # One column rules most samples out at once.
    alike = np.flatnonzero(gyro[1:, 0] == gyro[:-1, 0]) + 1
    for column in (*gyro.T[1:], *accel.T):
        alike = alike[column[alike] == column[alike - 1]]
    flags[alike] = True
    return flags


def _turning(gyro: Floats) -> Flags:
    return np.asarray(np.linalg.norm(gyro - np.median(gyro, axis=0), axis=1) > STUCK_RAD_S)


def _sent_again(gyro: Floats, accel: Floats) -> Flags:
    """Rows of a table finer than the sensor's own rate: each reading stands in several rows, the first is its time.

    At rest, where readings may be alike by themselves, rows are left out as densely as they are in motion.
    """
    alike = _alike(gyro, accel)
    turning = _turning(gyro)
    moving = int(np.count_nonzero(turning))
    if np.count_nonzero(alike & turning) < AGAIN_SHARE * max(moving, AGAIN_FEWEST):
        return np.zeros(len(gyro), dtype=bool)
    runs = runs_of_true(alike)
    lengths = [stop - start for start, stop in runs if turning[start]]
    longest = max(1, round(float(np.quantile(lengths, 0.9))))
    for start, stop in runs:
        # As dense as in motion, so that a rest is no hole.
        alike[start + longest : stop : longest + 1] = False
    return alike


def _stuck(gyro: Floats, accel: Floats) -> Flags:
    """Repetitions of a reading, all six numbers alike, that goes on for several samples away from rest."""
    flags = _alike(gyro, accel)
    if np.count_nonzero(flags) < STUCK_SAMPLES:
        return np.zeros(len(gyro), dtype=bool)
    turning = _turning(gyro)
    for start, stop in runs_of_true(flags & turning):
        flags[start:stop] = stop - start >= STUCK_SAMPLES
    return np.asarray(flags & turning)


def _clipped(values: Floats, smallest_range: float, fewest: int) -> Flags:
    """Samples at an extreme that the column reaches several times.

    Either no working range lies below it, or the column stays at it for several samples again and again, which a
    signal of finer steps than that never does by itself.
    """
    flags = np.zeros(len(values), dtype=bool)
    for column in np.ascontiguousarray(values.T):
        for extreme in (column.max(), column.min()):
            at = column == extreme
            count = np.count_nonzero(at)
            if count >= fewest and (abs(extreme) >= smallest_range or _flat_top(column, extreme, at)):
                flags |= at
    return flags


def _flat_top(column: Floats, extreme: float, at: Flags) -> bool:
    if np.count_nonzero(at) < FLAT_RUNS * FLAT_SAMPLES:
        return False
    flat = sum(stop - start >= FLAT_SAMPLES for start, stop in runs_of_true(at))
    near = column[np.abs(column - extreme) < 0.1 * abs(extreme)]
    return flat >= FLAT_RUNS and len(np.unique(near)) > FINE_STEPS
