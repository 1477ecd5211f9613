"""Clocks of several files brought together: gyro and accelerometer in two, force and motion of one session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from feltload.acquisition.loggers.table import CsvTable
from feltload.acquisition.loggers.times import DAY_S, TimeColumn
from feltload.core import Floats, InputError

__all__ = ["common_seconds", "join_inertial", "require_overlap"]

WIDEST_STEPS = 5.0
"""Gap, in usual steps of the accelerometer, over which its readings are not drawn as a straight line."""


def common_seconds(clocks: Sequence[TimeColumn]) -> tuple[list[Floats], Fraction]:
    """Times of several files from one origin, and that origin.

    Times of day that lie on two sides of midnight are brought to the same night.
    """
    origin = min(clock.origin_s for clock in clocks)
    starts = [float(clock.origin_s - origin) + float(clock.time_s[0]) for clock in clocks]
    if all(clock.kind == "day" for clock in clocks):
        latest = max(starts)
        nights = [DAY_S if latest - start > DAY_S / 2 else 0 for start in starts]
    else:
        nights = [0] * len(clocks)
    return [
        clock.seconds_from(origin) + night if night else clock.seconds_from(origin)
        for clock, night in zip(clocks, nights, strict=True)
    ], origin


def require_overlap(tables: Sequence[CsvTable], times: Sequence[Floats]) -> None:
    """Compare the spans of files that should be of one session.

    Raises
    ------
    InputError
        They have no time in common.
    """
    start = max(float(time[0]) for time in times)
    stop = min(float(time[-1]) for time in times)
    if stop > start:
        return
    ranges = ", ".join(
        f"{table.path.name} {time[0]:.3f} to {time[-1]:.3f} s"
        for table, time in zip(tables, times, strict=True)
    )
    raise InputError(
        f"the files do not overlap in time: {ranges}",
        where=" and ".join(str(table.path) for table in tables),
        remedy="give files of one session, or host_time_s in both if their own clocks differ",
    )


def join_inertial(gyro: CsvTable, accel: CsvTable) -> CsvTable:
    """One table of a gyro's and an accelerometer's files, at the times of the gyro.

    The accelerometer is drawn straight between its samples, as gravity turns slowly between them. Where it was silent
    for longer than a few of its steps, and where it had not begun or had ended, there is no sample.

    Parameters
    ----------
    gyro, accel : CsvTable
        On one clock, at any two rates.

    Raises
    ------
    InputError
        They do not overlap.
    """
    (gyro_s, accel_s), _ = common_seconds([gyro.time, accel.time])
    require_overlap([gyro, accel], [gyro_s, accel_s])
    after = np.clip(np.searchsorted(accel_s, gyro_s, side="left"), 1, accel_s.size - 1)
    step = np.diff(accel_s)
    usual = float(np.median(step))
    covered = (gyro_s >= accel_s[0]) & (gyro_s <= accel_s[-1])
    exact = (accel_s[after] == gyro_s) | (accel_s[after - 1] == gyro_s)
    covered &= exact | (step[after - 1] <= WIDEST_STEPS * usual)
    values = {field: column[covered] for field, column in gyro.values.items()}
    values |= {field: np.interp(gyro_s[covered], accel_s, column) for field, column in accel.values.items()}
    host = gyro.host_time
    return replace(
        gyro,
        time=replace(gyro.time, time_s=gyro.time.time_s[covered]),
        host_time=None if host is None else replace(host, time_s=host.time_s[covered]),
        values=values,
        units={**gyro.units, **accel.units},
        cut_rows=gyro.cut_rows + accel.cut_rows,
    )
