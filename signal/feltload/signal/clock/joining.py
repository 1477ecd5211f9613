"""One clock: sample times of a stream on the host's timeline."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from feltload.acquisition import recount
from feltload.core import Fact, Figure, Flags, Floats, Severity
from feltload.signal.clock.beat import on_the_beat
from feltload.signal.clock.facts import ClockFact
from feltload.signal.clock.line import FEWEST_ARRIVALS, SHORT_PIECE_S, Track, fit_track, tick_of
from feltload.signal.clock.pieces import STEP_BACK_S, find_pieces, rough_slope, stray_stamps
from feltload.signal.errors import ClockError

Counter = Literal["device", "sequence", "count", "common"]

#: Lasting shifts of a device's clock against the host that are treated as a jump, seconds.
DEVICE_JUMP_S = 0.05
#: Share of samples with the stamp of the one before from which on samples are counted instead.
STAMPS_ALIKE = 0.3
#: A device clock this near to the host's is a crystal's: its rate is one for finding jumps.
CRYSTAL = 0.002


@dataclass(frozen=True)
class ClockPiece:
    """A stretch of samples that one counter run covers.

    Attributes
    ----------
    start, stop : int
        Samples, half open.
    start_s, stop_s : float
        Times of its first and last sample.
    skew : float
        Host seconds per device second, less one (for counted samples: against the common rate).
    u_skew : float
    """

    start: int
    stop: int
    start_s: float
    stop_s: float
    skew: float
    u_skew: float


@dataclass(frozen=True)
class ClockFit:
    """Sample times on the host's timeline.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Time of each sample. The smallest delay of the link is part of it: nothing in the arrivals can show it.
    u_s : ndarray, shape (n,)
        Standard uncertainty, without that constant delay.
    skew : float
        Host seconds per device second, less one, over all pieces. Zero for a common clock.
    u_skew : float
    rate_hz : float
        Samples per host second.
    counter : str
        What was counted: "device" clock, "sequence" numbers, "count" of samples, or "common" (stamps are taken
        as they are).
    pieces : tuple of ClockPiece
    delay_s : float
        Median delay of the arrivals over the smallest one.
    warnings : tuple of Fact
    """

    time_s: Floats
    u_s: Floats
    skew: float
    u_skew: float
    rate_hz: float
    counter: Counter
    pieces: tuple[ClockPiece, ...]
    delay_s: float
    warnings: tuple[Fact, ...]


def join_clock(
    host_s: ArrayLike,
    device_s: ArrayLike | None = None,
    seq: ArrayLike | None = None,
    *,
    rate_hz: float | None = None,
) -> ClockFit:
    """Sample times on the host's timeline from arrival stamps that are late by a varying delay.

    Parameters
    ----------
    host_s : array_like, shape (n,)
        Arrival of the message that carried the sample, host seconds. All NaN: the device's clock is common.
    device_s : array_like, shape (n,), optional
        The device's own stamps, wraps removed, seconds; NaN where there is none.
    seq : array_like, shape (n,), optional
        Sequence numbers, wraps removed; NaN where there is none.
    rate_hz : float, optional
        Nominal rate; a start for counting when there is no device clock.

    Returns
    -------
    ClockFit

    Raises
    ------
    ClockError
        No samples, columns of different length, or no stamps at all.

    Notes
    -----
    ``arrival = a + b * counter + delay`` with ``delay >= 0``: the line under the arrivals (see `clock_line`).
    Many samples may share one arrival; only the newest of a batch can touch the line. Resets, jumps and lost
    samples start a new piece; a piece too short to show its skew takes that of the others. Long pieces are
    followed by blended lines because crystals drift with temperature. Stamps that were taken late, or are coarser
    than the samples, are put back on the counter's beat before (`on_the_beat`).
    """
    arrival = np.asarray(host_s, dtype=float).ravel()
    count = len(arrival)
    if count == 0:
        raise ClockError("no samples", remedy="check that the stream is connected and decoded")
    device = _column(device_s, count, "device_s")
    sequence = _column(seq, count, "seq")
    known = np.isfinite(arrival)
    if not np.any(known):
        if device is None:
            raise ClockError(
                "neither arrival nor device stamps", remedy="record one of them with each sample"
            )
        arrival, known = device, np.ones(count, dtype=bool)
    if device is not None and np.array_equal(device, arrival) and not _stamped_by_message(device):
        return _common(arrival)
    late = 0
    if device is not None and sequence is not None and not _stamped_by_message(device):
        device, off_beat = on_the_beat(device, sequence)
        late = int(np.count_nonzero(off_beat))
    counter, name = _pick_counter(device, sequence, count)
    if count < 2 or counter[-1] == counter[0] == counter.max():
        return _too_few(arrival, name)
    filled = _filled_arrivals(arrival, known)
    if name == "count":
        # What the arrivals show to be lost is the stream's health to report.
        counter = recount(filled).number
    fitted = _fit(filled, known, counter, name, rate_hz)
    if not late or name != "device":
        return fitted
    fact = Fact(ClockFact.STAMPED_LATE, Severity.NOTE, figures={"count": late})
    return replace(fitted, warnings=(*fitted.warnings, fact))


def _column(values: ArrayLike | None, count: int, name: str) -> Floats | None:
    if values is None:
        return None
    column = np.asarray(values, dtype=float).ravel()
    if len(column) != count:
        raise ClockError(
            f"{name} has {len(column)} values for {count} arrivals", remedy="give one per sample"
        )
    finite = np.isfinite(column)
    if not np.any(finite):
        return None
    if not np.all(finite):
        rows = np.arange(count)
        column = np.interp(rows, rows[finite], column[finite])
    return column


def _pick_counter(device: Floats | None, sequence: Floats | None, count: int) -> tuple[Floats, Counter]:
    if device is not None and np.ptp(device) > 0.0 and not _stamped_by_message(device):
        return device, "device"
    if sequence is not None and np.ptp(sequence) > 0.0:
        return sequence, "sequence"
    return np.arange(count, dtype=float), "count"


def _stamped_by_message(device: Floats) -> bool:
    """Whether one stamp stands for many samples (of a message, or of a tick coarser than they are)."""
    return bool(np.mean(np.diff(device) == 0.0) > STAMPS_ALIKE)


def _filled_arrivals(arrival: Floats, known: Flags) -> Floats:
    rows = np.arange(len(arrival))
    filled = arrival if np.all(known) else np.interp(rows, rows[known], arrival[known])
    # A host clock that steps back would break every bound; monotonic stamps never do.
    return np.maximum.accumulate(filled)


def _common(stamps: Floats) -> ClockFit:
    rate = _mean_rate(stamps)
    piece = ClockPiece(0, len(stamps), float(stamps[0]), float(stamps[-1]), 0.0, 0.0)
    warnings = (Fact(ClockFact.STAMPS_STEP_BACK),) if np.any(np.diff(stamps) < 0.0) else ()
    return ClockFit(stamps.copy(), np.zeros(len(stamps)), 0.0, 0.0, rate, "common", (piece,), 0.0, warnings)


def _too_few(arrival: Floats, name: Counter) -> ClockFit:
    piece = ClockPiece(0, len(arrival), float(arrival[0]), float(arrival[-1]), 0.0, np.inf)
    spread = np.full(len(arrival), max(float(np.ptp(arrival)), 1e-3))
    warning = Fact(ClockFact.TOO_FEW_SAMPLES)
    return ClockFit(arrival.copy(), spread, 0.0, np.inf, _mean_rate(arrival), name, (piece,), 0.0, (warning,))


def _mean_rate(times: Floats) -> float:
    span = float(times[-1] - times[0])
    return (len(times) - 1) / span if span > 0.0 else float("nan")


def _fit(
    arrival: Floats,
    known: Flags,
    counter: Floats,
    name: Counter,
    rate_hz: float | None,
) -> ClockFit:
    slope = rough_slope(counter, arrival)
    if name == "device" and abs(slope - 1.0) < CRYSTAL:
        slope = 1.0
    if name != "device" and rate_hz is not None and abs(slope * rate_hz - 1.0) > 0.2:
        slope = slope if len(counter) > FEWEST_ARRIVALS else 1.0 / rate_hz
    jump = DEVICE_JUMP_S if name == "device" else 0.6 * slope
    stray = stray_stamps(counter, arrival, slope, 20.0 * STEP_BACK_S)
    if np.any(stray):
        rows = np.arange(len(counter))
        counter = np.interp(rows, rows[~stray], counter[~stray])
    pieces = find_pieces(counter, arrival, slope, jump)
    tracks = _tracks(pieces, arrival, known, counter, slope)
    time_s, u_s = np.empty(len(counter)), np.empty(len(counter))
    for piece, track in zip(pieces, tracks, strict=True):
        time_s[piece], u_s[piece] = track.at(counter[piece])
    if name == "device":
        # Rounded stamps make the edge a slow saw-tooth against the host.
        u_s = np.hypot(u_s, tick_of(counter) / np.sqrt(3.0))
    weights = np.array([min(track.u_slope, 1.0) ** -2 if track.u_slope > 0 else 1e30 for track in tracks])
    mean_slope = float(np.average([track.slope for track in tracks], weights=weights))
    u_mean = float(np.sum(weights) ** -0.5) / mean_slope
    unit = 1.0 if name == "device" else mean_slope
    runs = tuple(
        ClockPiece(
            int(p.start),
            int(p.stop),
            float(time_s[p.start]),
            float(time_s[p.stop - 1]),
            t.slope / unit - 1.0,
            t.u_slope / unit,
        )
        for p, t in zip(pieces, tracks, strict=True)
    )
    rate = _median_rate(counter, pieces, mean_slope)
    skew = mean_slope - 1.0 if name == "device" else (mean_slope * rate_hz - 1.0 if rate_hz else 0.0)
    delay = float(np.median(arrival[known] - time_s[known]))
    warnings = _warnings(runs, int(stray.sum()), name, u_s)
    return ClockFit(time_s, u_s, skew, u_mean, rate, name, runs, delay, warnings)


def _tracks(pieces: list[slice], arrival: Floats, known: Flags, counter: Floats, slope: float) -> list[Track]:
    def fit(piece: slice, fixed: float | None) -> Track:
        keep = known[piece]
        keep = keep if np.any(keep) else np.ones_like(keep)
        return fit_track(counter[piece][keep], arrival[piece][keep], fixed)

    def is_long(piece: slice) -> bool:
        arrivals = np.unique(arrival[piece]).size if piece.stop - piece.start < 10_000 else FEWEST_ARRIVALS
        span = arrival[piece.stop - 1] - arrival[piece.start]
        return arrivals >= FEWEST_ARRIVALS and span >= SHORT_PIECE_S

    long = [fit(piece, None) if is_long(piece) else None for piece in pieces]
    usable = [track for track in long if track is not None]
    if usable:
        best = min(track.u_slope for track in usable)
        weights = [max(track.u_slope, best, 1e-12) ** -2 for track in usable]
        shared = float(np.average([track.slope for track in usable], weights=weights))
    else:
        shared = slope
    return [track or fit(piece, shared) for track, piece in zip(long, pieces, strict=True)]


def _median_rate(counter: Floats, pieces: list[slice], slope: float) -> float:
    steps = np.concatenate([np.diff(counter[p]) for p in pieces])
    steps = steps[steps > 0.0]
    return float(1.0 / (np.median(steps) * slope)) if len(steps) else float("nan")


def _warnings(pieces: tuple[ClockPiece, ...], strays: int, name: Counter, u_s: Floats) -> tuple[Fact, ...]:
    facts = []
    if strays:
        facts.append(Fact(ClockFact.STRAY_STAMPS, Severity.NOTE, figures={"count": strays}))
    if len(pieces) > 1:
        span_s = (pieces[1].start_s, pieces[-1].start_s)
        figures: dict[str, Figure] = {"counter": name, "count": len(pieces) - 1}
        facts.append(Fact(ClockFact.RESTARTED, span_s=span_s, figures=figures))
    if np.max(u_s) > 0.002:
        facts.append(Fact(ClockFact.TIMES_UNCERTAIN, figures={"u_s": float(np.max(u_s))}))
    return tuple(facts)
