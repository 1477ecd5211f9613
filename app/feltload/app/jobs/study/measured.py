"""The measurements of a study on the travel that those of a machine share: scalar results and curves, with labels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.app.errors import UsageError
from feltload.coaching import SAME_LOAD_KG
from feltload.core import Fact, Floats

SHARES_PERCENT = np.linspace(0.0, 100.0, 101)
"""Positions of the curves: percent of the travel that all measurements of a machine cover."""

LEAST_SHARED = 0.5
"""Measurements of a machine share at least this part of the longest of their travels."""

FORCES = ("peak", "mean", "end", "friction")
QUANTITIES = ("peak", "mean", "end", "drop_off", "friction")
"""Scalar results: forces in newtons; the drop-off in percent of the peak."""

MACHINE = "machine"


@dataclass(frozen=True)
class StudyRow:
    """One measurement at one load.

    Attributes
    ----------
    measurement : str
    labels : mapping of str to str
        Of the factors that were noted, the machine always.
    load_kg : float
    quantities : mapping of str to float
        By `QUANTITIES`; NaN where it was not found.
    static_n : ndarray, shape (101,)
        At `SHARES_PERCENT`.
    """

    measurement: str
    labels: Mapping[str, str]
    load_kg: float
    quantities: Mapping[str, float]
    static_n: Floats


@dataclass(frozen=True)
class StudySource:
    """What one measurement was read from: machine by its file, digests of its recordings, version that estimated it.

    `force_certificates` are digests; none where the cell had none, or the source does not say.
    """

    measurement: str
    path: str
    machine: str
    recordings_sha256: tuple[str, ...]
    version: str
    invented: bool
    force_certificates: frozenset[str] = frozenset()


@dataclass(frozen=True)
class StudyData:
    """All measurements of a study, and what is reported about them."""

    rows: tuple[StudyRow, ...]
    sources: tuple[StudySource, ...]
    facts: tuple[Fact, ...] = ()

    @property
    def loads_kg(self) -> tuple[float, ...]:
        """Ascending."""
        loads: list[float] = []
        for load in sorted(row.load_kg for row in self.rows):
            if not loads or load - loads[-1] >= SAME_LOAD_KG:
                loads.append(load)
        return tuple(loads)

    def at_load(self, load_kg: float) -> tuple[StudyRow, ...]:
        """The rows of one load."""
        return tuple(row for row in self.rows if abs(row.load_kg - load_kg) < SAME_LOAD_KG)


@dataclass(frozen=True)
class MeasuredCurve:
    """One measurement at one load, as it was measured.

    Attributes
    ----------
    name : str
    labels : mapping of str to str
        The machine always.
    load_kg : float
    rotation_rad : ndarray, shape (n,)
        From the start stop.
    way_m : ndarray, shape (n,), optional
        Of the handle from the start stop.
    static_n, friction_n : ndarray, shape (n,)
        NaN where the load did not cover the position.
    """

    name: str
    labels: Mapping[str, str]
    load_kg: float
    rotation_rad: Floats
    way_m: Floats | None
    static_n: Floats
    friction_n: Floats

    def positions(self, by_way: bool) -> Floats:
        """Ways in metres, or rotations in radians, shape (n,)."""
        return self.way_m if by_way and self.way_m is not None else self.rotation_rad

    def covered(self, by_way: bool) -> tuple[float, float]:
        """Ends of the travel that this load covered."""
        at = self.positions(by_way)[np.isfinite(self.static_n)]
        return float(at[0]), float(at[-1])

    def row(self, low: float, high: float, by_way: bool) -> StudyRow:
        """Results on the travel from `low` to `high`."""
        at = self.positions(by_way)
        grid = low + 0.01 * SHARES_PERCENT * (high - low)
        static = _between(grid, at, self.static_n)
        friction = _between(grid, at, self.friction_n)
        peak, end = float(static.max()), float(static[-1])
        quantities = {
            "peak": peak,
            "mean": float(static.mean()),
            "end": end,
            "drop_off": 100.0 * (peak - end) / max(abs(peak), 1e-9),
            "friction": float(friction.mean()),
        }
        return StudyRow(self.name, self.labels, self.load_kg, quantities, static)


def _between(grid: Floats, at: Floats, values: Floats) -> Floats:
    """Values at other positions; NaN everywhere where none is known."""
    known = np.isfinite(values)
    return np.asarray(
        np.interp(grid, at[known], values[known]) if known.any() else np.full(grid.size, np.nan)
    )


def on_common_travel(measured: Sequence[MeasuredCurve]) -> list[StudyRow]:
    """Every measurement on the travel that all of its machine cover: the end of a shorter one is no end of the machine.

    Raises
    ------
    UsageError
        One shares too little with the others.
    """
    common: dict[str, tuple[float, float, bool]] = {}
    for machine in dict.fromkeys(each.labels[MACHINE] for each in measured):
        own = [each for each in measured if each.labels[MACHINE] == machine]
        by_way = all(each.way_m is not None for each in own)
        spans = [each.covered(by_way) for each in own]
        low, high = max(span[0] for span in spans), min(span[1] for span in spans)
        if high - low < LEAST_SHARED * max(span[1] - span[0] for span in spans):
            shortest = own[int(np.argmin([span[1] - span[0] for span in spans]))]
            raise UsageError(
                f"covers too little of the travel that the others of machine {machine} cover",
                where=shortest.name,
                remedy="measure through the whole travel each time, or leave it out",
            )
        common[machine] = (low, high, by_way)
    return [each.row(*common[each.labels[MACHINE]]) for each in measured]
