"""What numbers in the unit that a file states cannot be: gravity, a person's speed and steel set their limits."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from feltload.acquisition.loggers.columns import SampleColumns
from feltload.acquisition.loggers.layout import Column
from feltload.acquisition.loggers.names import our_name
from feltload.acquisition.wire.descriptions.fields import AXES
from feltload.core import STANDARD_GRAVITY_M_S2, Floats, InputError

__all__ = ["require_plausible"]

FASTEST_RAD_S = 40.0
"""Rate that moving parts of training machines, and most gyroscopes, stay far below (common practice, no source)."""

LEAST_M_S2 = 0.5
"""Less than any scale of an accelerometer makes of gravity, and than either unit makes of the other."""

_LARGEST = {"N": 1e7, "counts": 1e12, "mV/V": 1e3, "rad/s": 1e4, "m/s2": 1e6}
"""Far beyond any sensor: a number so large is a fault of the file, not a measurement."""


def require_plausible(
    values: Mapping[str, Floats],
    units: Mapping[str, str],
    columns: Mapping[str, Column],
    samples: SampleColumns,
    path: Path,
) -> None:
    """Compare values, in SI, with what sensors and machines can show.

    Raises
    ------
    InputError
        A number no sensor gives, or numbers that seem to be in another unit.
    """
    for field, column in values.items():
        beyond = np.flatnonzero(np.abs(column) > _LARGEST[units[field]])
        if beyond.size:
            row = int(beyond[0])
            raise InputError(
                f"reads {column[row]:.3g} {units[field]}, more than any sensor does",
                where=f"{path}: line {samples.line_of(row)}, column {columns[field].name}",
                remedy="correct it or leave that row out",
            )
    if set(AXES["accel"]) <= set(values):
        _require_gravity(np.stack([values[axis] for axis in AXES["accel"]]), columns, path)
    if set(AXES["gyro"]) <= set(values):
        _require_slow(np.stack([values[axis] for axis in AXES["gyro"]]), columns, path)


def _require_gravity(accel_m_s2: Floats, columns: Mapping[str, Column], path: Path) -> None:
    unit = columns[AXES["accel"][0]].unit
    felt = float(np.median(np.linalg.norm(accel_m_s2, axis=0)))
    if felt < LEAST_M_S2:
        raise InputError(
            f"the accelerometer reads {felt:.2f} m/s2 in the middle: gravity seems to have been taken out",
            where=str(path),
            remedy="give the acceleration as the sensor measures it, gravity included",
        )
    if unit == "g":
        felt /= STANDARD_GRAVITY_M_S2
    low, high, other = (8.0, 12.0, "m/s2") if unit == "g" else (0.8, 1.25, "g")
    if low < felt < high:
        raise InputError(
            f"the accelerometer reads {felt:.2f} {unit} at rest, so the numbers are in the other unit",
            where=str(path),
            remedy=f"name the columns {our_name('accel_x', other)} ...",
        )


def _require_slow(gyro_rad_s: Floats, columns: Mapping[str, Column], path: Path) -> None:
    turned = float(np.percentile(np.linalg.norm(gyro_rad_s, axis=0), 99.0))
    if columns[AXES["gyro"][0]].unit == "rad/s" and turned > FASTEST_RAD_S:
        raise InputError(
            f"the gyroscope reads {turned:.0f} rad/s, so the numbers seem to be degrees per second",
            where=str(path),
            remedy="name the columns gyro_x_deg_s ...",
        )
