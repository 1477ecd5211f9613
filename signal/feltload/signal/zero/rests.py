"""Stretches in which the machine rests and the force stays level: where a zero may be looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from feltload.core import Flags, Floats

__all__ = [
    "Blocks",
    "Rest",
    "end_rest",
    "make_blocks",
    "measure_rest",
    "moved_within",
    "rests_on_stop",
    "start_rest",
]

BLOCK_S = 0.25
SHORTEST_S = 0.75
"""Shortest hands-off window that is accepted when none was marked."""
SEARCH_S = 10.0
"""How far from the ends of the recording a hands-off window is looked for."""
STILL_RAD_S = 0.02
"""Angular rate about its value at rest that still counts as rest on the stop."""
FLAT_SHARE = 1e-6
"""A spread this small beside the usual one is none: the sensor is at its limit or stuck."""
HELD_N = 0.15
"""Slow wander below which a force is treated as hands off, whatever its noise."""
WANDER_RATIO = 2.5
"""Wander over that of white noise at which a hand is suspected; reached by chance about once in 10 000."""
STEADY_N = 0.05
WHITE_RATIO = 1.6
NEAR_STOP_RAD = 0.17
NEAR_STOP_SHARE = 0.15
"""Rotation from the turning point that counts as near, and at most this share of the range."""
TURN_WINDOW_S = 40.0
"""Lowest rotation is taken over this long: rate integrated for longer drifts."""
PIECE_S = 0.1
"""Noise is judged between means this long: a sensor's own filter colours what is faster."""


@dataclass(frozen=True, eq=False)
class Blocks:
    """Short blocks of the force.

    Parameters
    ----------
    start_s, mean_n, spread_n : float array, shape (b,)
        Start, mean and standard deviation of each block.
    length_s : float
    still : bool array, shape (b,)
        Whether the machine rested, as far as the inertial sensor tells.
    near_stop : bool array, shape (b,)
        Whether the machine was close to where it turns round or rests, as far as the sensor tells.
    """

    start_s: Floats
    mean_n: Floats
    spread_n: Floats
    length_s: float
    still: Flags
    near_stop: Flags

    @property
    def floor_n(self) -> float:
        """Noise of the sensor: the spread of the quietest tenth of the blocks, those at a limit left out."""
        noisy = self.spread_n[self.spread_n > FLAT_SHARE * float(np.median(self.spread_n))]
        return float(np.percentile(noisy, 10.0)) if noisy.size else 0.0


@dataclass(frozen=True)
class Rest:
    """A level stretch.

    Parameters
    ----------
    window_s : tuple of float
    level_n, u_n : float
        Mean force and its standard uncertainty.
    wander_n, white_n : float
        Standard deviation of the means of its pieces, and what it would be for white noise.
    """

    window_s: tuple[float, float]
    level_n: float
    u_n: float
    wander_n: float
    white_n: float

    @property
    def wanders(self) -> bool:
        """Whether the force wanders as if something were held."""
        return self.wander_n > max(HELD_N, WANDER_RATIO * self.white_n)

    @property
    def is_white(self) -> bool:
        """Whether it is as steady as the sensor's noise lets it be; chance fails one in a few hundred."""
        return self.wander_n <= max(STEADY_N, WHITE_RATIO * self.white_n)


def make_blocks(time_s: Floats, force_n: Floats, inertial: pd.DataFrame | None) -> Blocks | None:
    """Cut a force into blocks; None when it is too short."""
    if time_s.size < 6:
        return None
    # A slow sensor needs longer blocks to tell its spread.
    step = (time_s[-1] - time_s[0]) / (time_s.size - 1)
    length = max(BLOCK_S, 4.0 * step)
    number = np.floor((time_s - time_s[0]) / length).astype(np.int64)
    grouped = pd.Series(force_n).groupby(number)
    count = grouped.count()
    keep = count >= 3
    if not keep.any():
        return None
    start = time_s[0] + count.index[keep].to_numpy() * length
    mean, spread = (np.asarray(part[keep], dtype=float) for part in (grouped.mean(), grouped.std()))
    still = near = np.ones(start.size, dtype=bool)
    if inertial is not None and len(inertial):
        times = inertial["host_s"].to_numpy(dtype=float)
        edges = np.searchsorted(times, np.stack([start, start + length]))
        rate = _rate_from_rest(inertial)
        running = np.concatenate([[0.0], np.cumsum(_size(rate) > STILL_RAD_S)])
        seen = edges[1] - edges[0]
        still = (seen > 0) & (running[edges[1]] - running[edges[0]] <= 0.1 * seen)
        near = _near_stop(times, rate, start + 0.5 * length, still, max(3, round(TURN_WINDOW_S / length)))
    return Blocks(start, mean, spread, length, still, near)


def start_rest(blocks: Blocks, time_s: Floats, force_n: Floats) -> Rest | None:
    """Earliest level stretch of the first seconds."""
    near = blocks.start_s - blocks.start_s[0] <= SEARCH_S
    for window in _level_windows(blocks):
        if window[0] <= blocks.start_s[near][-1]:
            return measure_rest(time_s, force_n, window)
    return None


def end_rest(blocks: Blocks, time_s: Floats, force_n: Floats) -> Rest | None:
    """Latest level stretch of the last seconds, none before the last movement."""
    if blocks.still.all():
        return None
    last_moved = blocks.start_s[~blocks.still][-1]
    earliest = max(blocks.start_s[-1] - SEARCH_S, last_moved)
    windows = [window for window in _level_windows(blocks) if window[0] > earliest]
    return measure_rest(time_s, force_n, windows[-1]) if windows else None


def rests_on_stop(
    blocks: Blocks, time_s: Floats, force_n: Floats, apart: Sequence[tuple[float, float]]
) -> list[Rest]:
    """Level stretches close to the stop, those that touch a window of `apart` left out."""
    rests = []
    for start, until in _level_windows(blocks):
        inside = (blocks.start_s >= start) & (blocks.start_s < until)
        if not blocks.near_stop[inside].all() or any(
            start < window[1] and until > window[0] for window in apart
        ):
            continue
        rests.append(measure_rest(time_s, force_n, (start, until)))
    return rests


def measure_rest(time_s: Floats, force_n: Floats, window: tuple[float, float]) -> Rest:
    """Level of a window, its uncertainty, and whether it wanders as a hand does.

    The uncertainty comes from the scatter of piece means, which noise of any colour has. A hand wanders
    slowly: its means over a third of a second scatter more than those over a tenth explain.
    """
    inside = (time_s >= window[0]) & (time_s <= window[1])
    values = force_n[inside]
    pieces = np.array([piece.mean() for piece in np.array_split(values, max(2, min(8, values.size // 3)))])
    u = float(np.std(pieces, ddof=1) / np.sqrt(pieces.size))
    per_piece = max(1, round(PIECE_S * values.size / max(window[1] - window[0], PIECE_S)))
    short = values[: values.size // per_piece * per_piece].reshape(-1, per_piece).mean(axis=1)
    wander = white = float(np.std(pieces, ddof=1))
    if short.size >= 12:
        second = np.diff(short, 2)
        noise = float(np.sqrt(np.mean(second**2) / 6.0))
        size = max(3, short.size // 12)
        means = short[: short.size // size * size].reshape(-1, size).mean(axis=1)
        wander, white = float(np.std(means, ddof=1)), noise / float(np.sqrt(size))
    return Rest(window, float(values.mean()), u, wander, white)


def moving_at(inertial: pd.DataFrame, time_s: Floats) -> Flags:
    """Whether the machine moved at each of some times."""
    moved = _size(_rate_from_rest(inertial)) > STILL_RAD_S
    return np.asarray(np.interp(time_s, inertial["host_s"].to_numpy(dtype=float), moved.astype(float)) > 0.5)


def moved_within(inertial: pd.DataFrame | None, window: tuple[float, float]) -> bool:
    """Whether the machine moved in a window."""
    if inertial is None or not len(inertial):
        return False
    times = inertial["host_s"].to_numpy()
    inside = (times >= window[0]) & (times <= window[1])
    return bool(inside.any() and np.mean(_size(_rate_from_rest(inertial))[inside] > STILL_RAD_S) > 0.1)


def _level_windows(blocks: Blocks) -> list[tuple[float, float]]:
    """Stretches in which force and rate stay where they are, without the last block's worth of each."""
    quiet = blocks.still & (blocks.spread_n <= 3.0 * blocks.floor_n + HELD_N)
    step = np.diff(blocks.mean_n, prepend=blocks.mean_n[0])
    apart = np.diff(blocks.start_s, prepend=blocks.start_s[0])
    joined = (np.abs(step) <= 3.0 * (blocks.floor_n + HELD_N)) & (apart < 2.5 * blocks.length_s)
    windows = []
    first = None
    for index in range(quiet.size + 1):
        goes_on = index < quiet.size and bool(quiet[index])
        if first is not None and (not goes_on or not joined[index]):
            span = blocks.start_s[index - 1] + blocks.length_s - blocks.start_s[first]
            if span >= SHORTEST_S:
                # Hands come to the handle before the force tells.
                start = float(blocks.start_s[first])
                windows.append((start, start + float(span) - BLOCK_S))
            first = None
        if goes_on and first is None:
            first = index
    return windows


def _rate_from_rest(inertial: pd.DataFrame) -> Floats:
    """Angular rate about its value at rest, lightly smoothed, shape (n, 3)."""
    from feltload.acquisition import GYRO_COLUMNS

    rate = inertial[GYRO_COLUMNS].to_numpy(dtype=float)
    # At rest the rate is steady: its value there is that of the steadiest pieces, wherever they are.
    size = max(3, min(rate.shape[0] // 20, 50))
    if rate.shape[0] < size:
        return np.zeros_like(rate)
    pieces = rate[: rate.shape[0] // size * size].reshape(-1, size, rate.shape[1])
    spread = np.ptp(pieces, axis=1).sum(axis=1)
    # A stuck sensor is steadier still; a working one has noise.
    working = spread > 0.0
    if not working.any():
        return np.zeros_like(rate)
    steady = working & (spread <= np.percentile(spread[working], 5.0))
    smooth = pd.DataFrame(rate - np.median(pieces[steady].mean(axis=1), axis=0))
    return np.asarray(smooth.rolling(9, center=True, min_periods=1).mean().to_numpy())


def _size(rate: Floats) -> Floats:
    return np.asarray(np.linalg.norm(rate, axis=1))


def _near_stop(times: Floats, rate: Floats, middle_s: Floats, still: Flags, window: int) -> Flags:
    """Blocks close to the turning point at which the part first rested."""
    axis = np.linalg.eigh(rate.T @ rate)[1][:, -1]
    along = rate @ axis
    turned = np.concatenate([[0.0], np.cumsum(0.5 * (along[1:] + along[:-1]) * np.diff(times))])
    blocks = pd.Series(np.interp(middle_s, times, turned))
    around = blocks.rolling(window, center=True, min_periods=1)
    above_low, below_high = (blocks - around.min()).to_numpy(), (around.max() - blocks).to_numpy()
    first = int(np.argmax(still))
    near = above_low if above_low[first] <= below_high[first] else below_high
    return np.asarray(near <= np.minimum(NEAR_STOP_RAD, NEAR_STOP_SHARE * (above_low + below_high)))
