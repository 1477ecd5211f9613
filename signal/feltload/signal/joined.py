"""A recording as one table: force and lever motion on one clock, with phases and repetitions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from feltload.core import Fact, Flags, Floats, InputError, runs_of_true
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.solver import solve
from feltload.signal.errors import ProfileError
from feltload.signal.movement.grid import Aligned, Series, ordered, thinned_series
from feltload.signal.movement.movements import find_runs
from feltload.signal.movement.travel import HandleTravel
from feltload.signal.pipeline import join_stream, prepare
from feltload.signal.profile.repetitions import END_RATE_RAD_S, Repetition, find_repetitions
from feltload.signal.session import Reference, Session

if TYPE_CHECKING:
    from feltload.acquisition import Recording

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 10.0, 2000.0
"""Below, movements are not described; above, no sensor of a machine says more (common practice, no source)."""

HOLE_STEPS = 2.5
"""A stream is missing where its neighbours are further apart than this many of its steps."""

LEAST_HOLE_S = 0.02
"""Shorter than that nothing moves."""

HOLD_S = 0.3
"""An arm that stands this long within a repetition is held."""

BEYOND_RAD = np.radians(2.0)
"""The arm may be this far beyond where the machine file gives the handle's path: a stop that gives, noise."""


@dataclass(frozen=True, eq=False)
class JoinedTable:
    """A recording on one clock.

    Attributes
    ----------
    frame : DataFrame
        A row per instant of a uniform grid: ``time_s`` from the recording's start; ``force_n``, zero taken off and
        moved by the lag; ``angle_rad``, ``angle_deg``, ``angle_u_rad`` (its standard uncertainty), ``rate_rad_s``,
        ``accel_rad_s2``; ``phase`` ("concentric", "hold", "eccentric", "between") and ``repetition`` from 1;
        ``travel_percent`` of the range that the repetitions cover; and ``handle_travel_mm`` from the start stop, where
        the machine's description gives the handle's path. Where a sensor was silent its columns are NaN: nothing is
        interpolated across a hole.
    session : Session
        What it was made of.
    rate_hz : float
        Of the rows.
    lag : Lag or None
        By which the force was moved; None where it is left in, because nothing shows it.
    repetitions : tuple of Repetition
    facts : tuple of Fact
        What was found on the way.
    """

    frame: pd.DataFrame
    session: Session
    rate_hz: float
    lag: Lag | None
    repetitions: tuple[Repetition, ...]
    facts: tuple[Fact, ...]


def joined_table(
    recording: Recording,
    *,
    reference: Reference | None = None,
    side: str | None = None,
    rate_hz: float = 100.0,
    lag: Lag | None = None,
) -> JoinedTable:
    """One table of a recording: force and lever motion on one clock.

    Parameters
    ----------
    recording : Recording
        Of a force sensor and an inertial one.
    reference : Reference, optional
        Start angle and handle's path, as `feltload.calibration.reference_of` takes them from a machine file. Without
        it the angle is the rotation from the start stop.
    side : {"left", "right"}, optional
        Which arm, when the rig has sensors on both.
    rate_hz : float
        Rows per second, from 10 to 2000. Faster streams are low-passed to it first.
    lag : Lag, optional
        Lag of the force, such as `ProfileEstimate.lag` of the same rig. Left out, it is found from this recording, as
        `estimate` does; one of holds or with a partner's help cannot show it.

    Returns
    -------
    JoinedTable

    Raises
    ------
    SignalError
        A stream is missing, or the two hardly overlap.
    InputError
        The rate is out of range.

    Examples
    --------
    >>> from feltload.acquisition import read_recording
    >>> from feltload.signal import joined_table
    >>> joined = joined_table(read_recording("recordings/row-40kg.mcap"))  # doctest: +SKIP
    >>> joined.frame.groupby("repetition")["force_n"].max()  # doctest: +SKIP
    """
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        raise InputError(
            f"{rate_hz:g} rows per second are out of reach",
            where="rate",
            remedy=f"give one from {LOWEST_RATE_HZ:g} to {HIGHEST_RATE_HZ:g}",
        )
    session = Session.from_recording(recording, side=side)
    aligned, readings, facts = prepare(session, reference=reference)
    if lag is None and recording.info.kind in (None, "machine"):
        try:
            (lag,) = solve(
                [aligned], [readings], None, None if reference is None else reference.handle_travel
            )[1]
        except ProfileError:
            # Too little motion for a profile: the streams are still worth a table.
            lag = None
    if lag is None or not lag.known:
        lag = None
        facts.append(Fact(AlignmentFact.LAG_LEFT_IN, session=session.name, stream=session.force_stream))
    lag_s = 0.0 if lag is None else lag.value_s
    runs = find_runs(aligned.time_s, aligned.q_rad, aligned.rate_rad_s, aligned.moving_valid)
    repetitions = find_repetitions(aligned, runs, lag_s)
    time = _grid(session, rate_hz)
    frame = pd.DataFrame({"time_s": time, "force_n": _force_n(session, time + lag_s, rate_hz)})
    moving = _motion_known(session, aligned, time)
    start_rad = 0.0 if reference is None else reference.start_angle_rad
    q = _at(aligned, aligned.q_rad, time, moving)
    frame["angle_rad"] = start_rad + q
    frame["angle_deg"] = np.degrees(start_rad + q)
    frame["angle_u_rad"] = np.abs(_at(aligned, aligned.u_q_rad, time, moving))
    frame["rate_rad_s"] = _at(aligned, aligned.rate_rad_s, time, moving)
    frame["accel_rad_s2"] = _at(aligned, aligned.accel_rad_s2, time, moving)
    frame["phase"], frame["repetition"] = _phases(
        time, frame["rate_rad_s"].to_numpy(float), moving, repetitions
    )
    handle = None if reference is None else reference.handle_travel
    frame["travel_percent"] = _travel_percent(q, repetitions, handle)
    if handle is not None:
        frame["handle_travel_mm"] = 1e3 * _handle_travel_m(handle, q)
    return JoinedTable(frame, session, rate_hz, lag, tuple(repetitions), tuple(facts))


def _grid(session: Session, rate_hz: float) -> Floats:
    """Whole steps from the first sample of either stream to the last."""
    times = [join_stream(session, which).time_s for which in ("force", "inertial")]
    low, high = min(float(time[0]) for time in times), max(float(time[-1]) for time in times)
    return np.arange(np.ceil(low * rate_hz), np.floor(high * rate_hz) + 1.0) / rate_hz


def _force_n(session: Session, time_s: Floats, rate_hz: float) -> Floats:
    """Force at these times, NaN where its sensor was silent or at its limit."""
    time, force = ordered(join_stream(session, "force").time_s, session.force["force_n"].to_numpy(float))
    series, step_s = thinned_series(time, force, rate_hz)
    known = Series(time, force, max(HOLE_STEPS * step_s, LEAST_HOLE_S)).valid(time_s)
    return np.where(known, series.at(time_s), np.nan)


def _motion_known(session: Session, aligned: Aligned, time_s: Floats) -> Flags:
    """Times at which the inertial sensor was sending."""
    time = np.unique(join_stream(session, "inertial").time_s)
    sent = Series(time, time, max(HOLE_STEPS * aligned.motion_step_s, LEAST_HOLE_S)).valid(time_s)
    nearest = np.clip(np.rint((time_s - aligned.time_s[0]) * aligned.rate_hz), 0, aligned.time_s.size - 1)
    inside = (time_s >= aligned.time_s[0]) & (time_s <= aligned.time_s[-1])
    return np.asarray(sent & inside & aligned.moving_valid[nearest.astype(int)])


def _at(aligned: Aligned, values: Floats, time_s: Floats, known: Flags) -> Floats:
    return np.where(known, Series(aligned.time_s, values, np.inf).at(time_s), np.nan)


def _phases(
    time_s: Floats, rate_rad_s: Floats, known: Flags, repetitions: list[Repetition]
) -> tuple[pd.Categorical[str], pd.arrays.IntegerArray]:
    """Phase and repetition of each row; missing where the motion is not known."""
    names = pd.Index(["concentric", "hold", "eccentric", "between"])
    phase = np.full(time_s.size, names.size - 1)
    number = np.zeros(time_s.size, dtype=np.int64)
    for each in repetitions:
        edges = np.searchsorted(
            time_s, [each.start_s, each.turn_s, each.end_s - each.eccentric_s, each.end_s]
        )
        start, turn, back, end = (int(edge) for edge in edges)
        phase[start:turn], phase[turn:back], phase[back:end] = 0, 1, 2
        number[start:end] = each.index + 1
    for start, stop in runs_of_true(np.abs(rate_rad_s) < END_RATE_RAD_S):
        if time_s[stop - 1] - time_s[start] >= HOLD_S:
            phase[start:stop] = np.where(number[start:stop] > 0, 1, phase[start:stop])
    phase[~known] = -1
    missing = (number == 0) | ~known
    return pd.Categorical.from_codes(phase, names), pd.arrays.IntegerArray(number, missing)


def _travel_percent(q_rad: Floats, repetitions: list[Repetition], handle: HandleTravel | None) -> Floats:
    """Part of the range that the repetitions cover, by the handle's way where it is known; NaN where there are none."""
    if not repetitions:
        return np.full(q_rad.size, np.nan)
    ends = np.array([min(each.low_rad for each in repetitions), max(each.high_rad for each in repetitions)])
    if handle is not None and handle.covers(ends):
        way, ends = _handle_travel_m(handle, q_rad), _handle_travel_m(handle, ends)
        return np.asarray(100.0 * (way - ends[0]) / (ends[1] - ends[0]))
    return np.asarray(100.0 * (q_rad - ends[0]) / (ends[1] - ends[0]))


def _handle_travel_m(travel: HandleTravel, q_rad: Floats) -> Floats:
    """Way of the handle from the start stop, NaN where the machine's description does not give it."""
    first, last = float(travel.q_rad[0]), float(travel.q_rad[-1])
    within = (q_rad > first - BEYOND_RAD) & (q_rad < last + BEYOND_RAD)
    out = np.full(q_rad.size, np.nan)
    if np.any(within):
        way = travel.path_m(np.clip(q_rad[within], first, last))
        out[within] = np.nan if way is None else way
    return out
