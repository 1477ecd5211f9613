"""An emulated load cell that was calibrated: its readings under weights, and the same cell on a machine.

The cell, the weights and all of their errors are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from feltload.emulator.sensors.sensor_class import ForceSensorClass

FULL_N = 1000.0
"""Force that bend, hysteresis and creep are stated at."""

_HEAD = """\
# note: invented cell, invented weights: an example, no measurement
# serial: {serial}
# sensor: S-type load cell, 2 kN, with 24-bit converter
# number: example-1
# calibrated by: example
# place: invented bench, 52° north
# date: 2026-03-02
# latitude: 52.2 deg
# height: 20 m
# temperature: 21.0 degC
# pressure: 1013 hPa
# humidity: 45 %
# rated capacity: 2 kN
# weight density: 7300(200) kg/m3
series,direction,position_deg,mass,reading,time_s
"""
_MASSES_KG = (10, 20, 30, 40, 50, 60, 70, 80, 90, 100)
_U_KG = 0.003
_GRAVITY_M_S2 = 9.8126
_AIR_SHARE = 1.2 / 8000
_RISING, _FALLING = -1, 1


@dataclass(frozen=True)
class BenchCell:
    """What a cell truly does.

    Parameters
    ----------
    serial : str
    counts_per_n, zero_counts : float
    bend, hysteresis, creep : float
        As shares of `FULL_N`: how far it is off a straight line there, half the gap of rising and falling in the
        middle, and what it creeps by in five minutes.
    noise_counts : float
        Standard deviation of a reading.
    """

    serial: str = "C-1042"
    counts_per_n: float = 850.0
    zero_counts: float = 11840.0
    bend: float = 1.5e-4
    hysteresis: float = 1.5e-4
    creep: float = 2e-4
    noise_counts: float = 25.0

    def counts(self, force_n: float, side: float, rng: Generator) -> float:
        """Reading under a dead weight; `side` is -1 rising, 1 falling, 0 between."""
        k = force_n / FULL_N
        off = self.bend * k**2 + side * self.hysteresis * 4 * k * (1 - k)
        counts = self.zero_counts + self.counts_per_n * (force_n + FULL_N * off)
        return counts + float(rng.normal(0.0, self.noise_counts))

    def on_machine(self, kind: ForceSensorClass, *, gain_share: float = 0.0) -> ForceSensorClass:
        """The kind of sensor with this cell in it, whose gain has drifted by a share since it was calibrated.

        Its hysteresis is left out: what a repetition shows of it is less than a tenth of a newton.
        """
        return replace(
            kind,
            count_n=1.0 / (self.counts_per_n * (1.0 + gain_share)),
            bend_per_n=self.bend / FULL_N,
            zero_n=self.zero_counts / self.counts_per_n,
        )


def calibration_readings(cell: BenchCell | None = None, *, seed: int = 1042) -> str:
    """Text of the readings file of a calibration: four series, three positions, five minutes under full load.

    Parameters
    ----------
    cell : BenchCell, optional
    seed : int
        Of the scatter, and of the weights, which are off by draws of their stated uncertainty.
    """
    cell = cell or BenchCell()
    rng = np.random.default_rng(seed)
    own = {kg: rng.normal(0, _u_kg(kg)) for kg in _MASSES_KG}

    def read(kg: float, side: float) -> float:
        return cell.counts((kg + own.get(int(kg), 0.0)) * _GRAVITY_M_S2 * (1 - _AIR_SHARE), side, rng)

    rows, clock_s = [], 0
    ladders = ((_RISING, "rising", (0, *_MASSES_KG)), (_FALLING, "falling", (*_MASSES_KG[-2::-1], 0)))
    for series, position in enumerate((0, 0, 120, 240), start=1):
        for side, name, ladder in ladders:
            for kg in ladder:
                clock_s += 40
                mass = f"{kg}({_u_kg(kg):.3f}) kg" if kg else "0"
                rows.append(f"{series},{name},{position},{mass},{read(kg, side):.0f},{clock_s}")
    top = read(_MASSES_KG[-1], 0.0)
    for time_s in (20, 30, 60, 120, 180, 240, 300):
        crept = top + cell.creep * cell.counts_per_n * FULL_N * (1 - np.exp(-time_s / 120))
        reading = crept + rng.normal(0, cell.noise_counts)
        rows.append(f"creep,hold,240,100({_u_kg(100):.3f}) kg,{reading:.0f},{time_s}")
    return _HEAD.format(serial=cell.serial) + "\n".join(rows) + "\n"


def _u_kg(kg: float) -> float:
    return float(_U_KG * (kg / 10) ** 0.5)
