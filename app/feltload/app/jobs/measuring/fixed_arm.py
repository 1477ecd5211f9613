"""Tells a recording of holds against a fixed arm from one of repetitions, before a profile is made of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from feltload.acquisition import Mark
from feltload.app.errors import UsageError
from feltload.coaching import REPETITION_RANGE_RAD, strong_efforts
from feltload.core import Fact, Severity
from feltload.signal import ProfileFact, Session

FEWEST_HOLDS = 3
"""Fewer efforts against a still arm are a pause or a grip, not a session of holds."""
SHORTEST_S = 1.0


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
    """Efforts of a second or more while the arm stood still, and while it moved.

    Known weights that hung on the cell (marked as field checks) are no efforts.
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
    holds = moving = 0
    for first, last in strong_efforts(force_n):
        if time_s[last - 1] - time_s[first] < SHORTEST_S:
            continue
        during = turned[slice(*np.searchsorted(turned_s, (time_s[first], time_s[last - 1])))]
        if during.size and np.linalg.norm(np.ptp(during, axis=0)) <= REPETITION_RANGE_RAD:
            holds += 1
        else:
            moving += 1
    return holds, moving
