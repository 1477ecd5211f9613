"""Readings of a guided session as a readings file, one row at a time, and back again."""

from __future__ import annotations

import csv
import io
import math
from typing import Final

import numpy as np

from feltload.calibration.force.plan import LoadStep
from feltload.calibration.force.readings import Readings
from feltload.calibration.force.readings_columns import ReadingUnit
from feltload.calibration.force.session import TakenReading
from feltload.core import Quantity

READINGS_COLUMNS: Final = ("series", "direction", "position_deg", "mass", "reading", "time_s")


def readings_row(taken: TakenReading, unit: ReadingUnit) -> str:
    """One row of a readings file.

    The mean is written to the digits that it is known to, which the certificate reads as its resolution.
    """
    known_to = max(taken.spread / taken.samples**0.5, 1e-9 * max(abs(taken.reading), 1e-9))
    coarsest = 0 if unit == "counts" else 5
    digits = min(max(coarsest, math.ceil(-math.log10(known_to))), 9) if taken.spread > 0 else coarsest
    position = "" if taken.step.position_deg is None else f"{taken.step.position_deg:g}"
    reading = f"{taken.reading:.{digits}f}" + (" mV/V" if unit == "mV/V" else "")
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(
        [
            taken.step.series,
            taken.step.direction,
            position,
            taken.step.mass_text,
            reading,
            f"{taken.time_s:.1f}",
        ]
    )
    return out.getvalue()


def taken_readings(readings: Readings) -> list[TakenReading]:
    """Readings of a file that a guided session wrote before, in its order."""
    return [
        TakenReading(
            step=LoadStep(
                series=int(readings.series[i]),
                direction=str(readings.direction[i]),
                position_deg=None if np.isnan(readings.position_deg[i]) else float(readings.position_deg[i]),
                mass=None if readings.load[i] == 0 else Quantity(float(readings.load[i]), None, ""),
            ),
            reading=float(readings.reading[i]),
            spread=0.0,
            samples=1,
            time_s=float(readings.time_s[i]),
        )
        for i in range(len(readings))
    ]
