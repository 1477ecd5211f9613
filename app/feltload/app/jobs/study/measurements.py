"""The measurements of a study, read: scalar results and curves on the share of the travel, with their labels."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.measuring.measurement import measure
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.study.file import Entry, StudyPlan
from feltload.coaching import FACTORS, SAME_LOAD_KG
from feltload.core import Floats, mass_text
from feltload.signal import ProfileEstimate

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
    """What one measurement was read from: digests of its recordings, and the version that estimated it."""

    measurement: str
    path: str
    recordings_sha256: tuple[str, ...]
    version: str
    invented: bool


@dataclass(frozen=True)
class StudyData:
    """All measurements of a study."""

    rows: tuple[StudyRow, ...]
    sources: tuple[StudySource, ...]

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


def read_measurements(plan: StudyPlan, *, advance: Callable[[float], None] = lambda done: None) -> StudyData:
    """Read every measurement of a study; recordings are profiled as `feltload profile` does.

    Raises
    ------
    UsageError
        A measurement is named twice, also under another name or as a part of two results; a label stands for two
        machines; some have a label that others lack; a load was not measured; measurements of a machine share too
        little travel.
    FeltloadError
        As reading and estimating raise.
    """
    measured: list[_Measured] = []
    sources: list[StudySource] = []
    machines: dict[str, tuple[str, str]] = {}
    _require_labels(plan.entries)
    names = _names([entry.path for entry in plan.entries])
    taken: dict[str, str] = {}
    for done, (name, entry) in enumerate(zip(names, plan.entries, strict=True)):
        advance(done)
        estimate, provenance = _read(entry.path)
        for source in provenance.recordings:
            if source.sha256 in taken:
                raise UsageError(
                    f"{name} and {taken[source.sha256]} are made from the same recording ({source.name})",
                    where=str(entry.path),
                    remedy="name each measurement once: a copy repeats perfectly and says nothing",
                )
            taken[source.sha256] = name
        labels = {MACHINE: estimate.machine_name, **entry.labels}
        known = machines.setdefault(labels[MACHINE], (estimate.machine_name, name))
        if known[0] != estimate.machine_name:
            raise UsageError(
                f'machine "{labels[MACHINE]}" is "{known[0]}" in {known[1]} and "{estimate.machine_name}" here',
                where=name,
                remedy="give different machines different labels",
            )
        measured += [_Measured(name, labels, estimate, load) for load in _loads(name, estimate, entry)]
        digests = tuple(source.sha256 for source in provenance.recordings)
        sources.append(StudySource(name, str(entry.path), digests, provenance.feltload, provenance.invented))
    return StudyData(tuple(_on_common_travel(measured)), tuple(sources))


def _read(path: Path) -> tuple[ProfileEstimate, Provenance]:
    if path.suffix == ".mcap":
        measured = measure([path])
        return measured.estimate, measured.provenance
    if not path.is_dir():
        raise UsageError(
            "is no result and no recording",
            where=str(path),
            remedy="name a result's directory or a .mcap file",
        )
    return load_possible(path), load_provenance(path)


def _loads(name: str, estimate: ProfileEstimate, entry: Entry) -> list[float]:
    """Loads of a measurement that count."""
    loads = [float(load) for load in estimate.loads_kg]
    if entry.load_kg is not None:
        loads = [load for load in loads if abs(load - entry.load_kg) < SAME_LOAD_KG]
        if not loads:
            raise UsageError(
                f"was measured with {' and '.join(mass_text(load) for load in estimate.loads_kg)}, not with "
                f"{mass_text(entry.load_kg)}",
                where=name,
                remedy="correct the load, or leave it out",
            )
    return loads


@dataclass(frozen=True)
class _Measured:
    """One measurement at one load, before it is put on the travel that its machine's measurements share."""

    name: str
    labels: Mapping[str, str]
    estimate: ProfileEstimate
    load_kg: float

    @property
    def index(self) -> int:
        return int(np.argmin(np.abs(self.estimate.loads_kg - self.load_kg)))

    def positions(self, by_way: bool) -> Floats:
        """Way of the handle from the start stop in metres, or rotation from it in radians, shape (n,)."""
        way = self.estimate.handle_path_m
        if by_way and way is not None:
            return way
        return np.asarray(self.estimate.angle_rad - self.estimate.start_angle_rad)

    def covered(self, by_way: bool) -> tuple[float, float]:
        """Ends of the travel that this load covered."""
        at = self.positions(by_way)[np.isfinite(self.estimate.static_n[self.index])]
        return float(at[0]), float(at[-1])

    def row(self, low: float, high: float, by_way: bool) -> StudyRow:
        """Results on the travel from `low` to `high`."""
        at = self.positions(by_way)
        grid = low + 0.01 * SHARES_PERCENT * (high - low)
        static = _between(grid, at, self.estimate.static_n[self.index])
        friction = _between(grid, at, self.estimate.friction_n[self.index])
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


def _on_common_travel(measured: Sequence[_Measured]) -> list[StudyRow]:
    """Every measurement on the travel that all of its machine cover: the end of a shorter one is no end of the machine.

    Raises
    ------
    UsageError
        One shares too little with the others.
    """
    common: dict[str, tuple[float, float, bool]] = {}
    for machine in dict.fromkeys(each.labels[MACHINE] for each in measured):
        own = [each for each in measured if each.labels[MACHINE] == machine]
        by_way = all(each.estimate.handle_path_m is not None for each in own)
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


def _require_labels(entries: Sequence[Entry]) -> None:
    for factor in FACTORS:
        lacking = [entry for entry in entries if factor not in entry.labels]
        if 0 < len(lacking) < len(entries):
            raise UsageError(
                f"{lacking[0].path.name} has no {factor}, though others have",
                where=str(lacking[0].path),
                remedy=f"note the {factor} of every measurement, or of none",
            )


def _names(paths: Sequence[Path]) -> list[str]:
    """Short names of the measurements, each its own.

    Raises
    ------
    UsageError
        Where a file is named twice.
    """
    resolved = [path.resolve() for path in paths]
    for k, path in enumerate(resolved):
        if path in resolved[:k]:
            raise UsageError("is named twice", where=str(paths[k]), remedy="name each measurement once")
    short = [path.stem if path.suffix == ".mcap" else path.name for path in resolved]
    return [
        f"{path.parent.name}/{name}" if short.count(name) > 1 else name
        for path, name in zip(resolved, short, strict=True)
    ]
