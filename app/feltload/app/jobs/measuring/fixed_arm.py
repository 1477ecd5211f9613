"""Tells a recording of holds against a fixed arm from one of repetitions, before a profile is made of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import scipy

from feltload.acquisition import Mark
from feltload.app.errors import UsageError
from feltload.coaching import REPETITION_RANGE_RAD
from feltload.core import Fact, Floats, Severity, runs_of_true
from feltload.signal import ProfileFact, Session

if TYPE_CHECKING:
    import pandas as pd

FEWEST_HOLDS = 3
"""Fewer efforts against a still arm are a pause or a grip, not a session of holds."""
SHORTEST_S = 1.0

LASTING_S = 0.5
"""The largest force of a session is one that lasts as long."""

STRONG_SHARE, ON_SHARE = 0.4, 0.6
"""Share of it above which an effort is strong, and share of that above which it goes on."""


def holds_remark(path: Path, session: Session, marks: tuple[Mark, ...]) -> Fact | None:
    """A remark where a session has holds besides its repetitions; None where it has none.

    Raises
    ------
    UsageError
        Where the session is one of holds: a person's strength is no property of the machine.
    """
    holds, moving = count_efforts(session, marks)
    if holds < FEWEST_HOLDS:
        return None
    if holds > moving:
        raise UsageError(
            f"looks like holds against a fixed arm ({holds} of them), not repetitions; they tell a person's "
            "strength, not the machine's resistance",
            where=str(path),
            remedy="give it to `feltload client capacity`, and profile recordings of repetitions",
        )
    return Fact(ProfileFact.HOLDS_SEEN, Severity.NOTE, path.stem, figures={"count": holds})


def count_efforts(session: Session, marks: tuple[Mark, ...] = ()) -> tuple[int, int]:
    """Efforts of a second or more against an arm that stood still, and efforts in which it moved.

    An effort lasts from where the force comes on to where it is gone, so a set without a rest is one that moves: a
    pause within it, or at its start, is no hold. Known weights that hung on the cell (marked as field checks) are no
    efforts.
    """
    time_s = session.force["host_s"].to_numpy(float)
    force_n = np.nan_to_num(session.force["force_n"].to_numpy(float))
    for mark in marks:
        if mark.kind == "field-check" and mark.until_s is not None:
            force_n[(time_s >= mark.start_s - SHORTEST_S) & (time_s <= mark.until_s + SHORTEST_S)] = 0.0
    turned_s = session.inertial["host_s"].to_numpy(float)
    rate = session.inertial[[f"gyro_{axis}_rad_s" for axis in "xyz"]].to_numpy(float)
    # As much time is spent turning one way as the other, so the median is the bias, near enough for 15 degrees.
    rate = np.nan_to_num(rate - np.nanmedian(rate, axis=0))
    turned = np.cumsum(rate * np.gradient(turned_s)[:, None], axis=0)
    down = _gravity_direction(turned_s, session.inertial)
    strong_n = STRONG_SHARE * _steady_peak_n(time_s, force_n)
    holds = moving = 0
    for first, last in runs_of_true(force_n > ON_SHARE * strong_n):
        span = slice(*np.searchsorted(turned_s, (time_s[first], time_s[last - 1])))
        # A gyroscope in the wrong unit hardly turns; gravity does all the same.
        if any(
            during.size and np.linalg.norm(np.ptp(during, axis=0)) > REPETITION_RANGE_RAD
            for during in (turned[span], down[span])
        ):
            moving += 1
            continue
        held = runs_of_true(force_n[first:last] > strong_n)
        holds += any(time_s[first + until - 1] - time_s[first + since] >= SHORTEST_S for since, until in held)
    return holds, moving


def _gravity_direction(time_s: Floats, inertial: pd.DataFrame) -> Floats:
    """Direction of what the accelerometer feels over half a second, (n, 3): knocks and starts hardly change it."""
    felt = np.nan_to_num(inertial[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy(float))
    step = max(float(np.median(np.diff(time_s))), 1e-6) if time_s.size > 1 else LASTING_S
    smooth = scipy.ndimage.uniform_filter1d(felt, max(1, round(LASTING_S / step)), axis=0)
    return np.asarray(smooth / np.maximum(np.linalg.norm(smooth, axis=1, keepdims=True), 1e-9))


def _steady_peak_n(time_s: Floats, force_n: Floats) -> float:
    """The largest force that lasts: a blow, or a joint that closes with one, is short."""
    step = max(float(np.median(np.diff(time_s))), 1e-6)
    width = max(1, round(LASTING_S / step))
    if force_n.size <= 2 * width:
        return float(np.max(force_n, initial=0.0))
    return float(np.max(scipy.ndimage.minimum_filter1d(force_n, width)))
