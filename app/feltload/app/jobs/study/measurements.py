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
from feltload.signal import ProfileEstimate, describe_shape, mean_friction_n

SHARES_PERCENT = np.linspace(0.0, 100.0, 101)
"""Positions of the curves: percent of the measured travel."""

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
        At `SHARES_PERCENT`; NaN outside the curve.
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
        machines; some have a label that others lack; a load was not measured.
    FeltloadError
        As reading and estimating raise.
    """
    rows: list[StudyRow] = []
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
        rows += _rows(name, labels, estimate, entry)
        digests = tuple(source.sha256 for source in provenance.recordings)
        sources.append(StudySource(name, str(entry.path), digests, provenance.feltload, provenance.invented))
    return StudyData(tuple(rows), tuple(sources))


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


def _rows(name: str, labels: Mapping[str, str], estimate: ProfileEstimate, entry: Entry) -> list[StudyRow]:
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
    return [_row(name, labels, estimate, load) for load in loads]


def _row(name: str, labels: Mapping[str, str], estimate: ProfileEstimate, load_kg: float) -> StudyRow:
    k = int(np.argmin(np.abs(estimate.loads_kg - load_kg)))
    shape = describe_shape(estimate, k)
    friction_n, _ = mean_friction_n(estimate, k)
    static, share = estimate.static_n[k], estimate.travel_percent
    known = np.isfinite(static)
    quantities = {
        "peak": shape.peak_n,
        "mean": float(np.interp(SHARES_PERCENT, share[known], static[known]).mean()),
        "end": shape.end_n,
        "drop_off": shape.drop_off_percent,
        "friction": friction_n,
    }
    curve = np.interp(SHARES_PERCENT, share[known], static[known], left=np.nan, right=np.nan)
    return StudyRow(name, labels, load_kg, quantities, np.asarray(curve))


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
