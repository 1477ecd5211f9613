"""The measurements of a study, read: results, recordings that are profiled first, or a dataset of many."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.measuring.measurement import measure
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.study.dataset import read_dataset
from feltload.app.jobs.study.file import Entry, StudyPlan
from feltload.app.jobs.study.measured import (
    MACHINE,
    MeasuredCurve,
    StudyData,
    StudySource,
    on_common_travel,
)
from feltload.coaching import FACTORS, SAME_LOAD_KG
from feltload.core import mass_text
from feltload.signal import ProfileEstimate


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
    if plan.dataset is not None:
        curves, sources = read_dataset(plan.dataset, plan.named, plan.load_kg)
    else:
        curves, sources = _read_entries(plan.entries, advance)
    _require_once(sources)
    _require_one_machine_a_label(curves, sources)
    _require_labels(curves)
    return StudyData(tuple(on_common_travel(curves)), tuple(sources))


def _read_entries(
    entries: Sequence[Entry], advance: Callable[[float], None]
) -> tuple[list[MeasuredCurve], list[StudySource]]:
    curves: list[MeasuredCurve] = []
    sources: list[StudySource] = []
    for done, (name, entry) in enumerate(zip(_names([e.path for e in entries]), entries, strict=True)):
        advance(done)
        estimate, provenance = _read(entry.path)
        curves += _curves(name, estimate, entry)
        sources.append(
            StudySource(
                measurement=name,
                path=str(entry.path),
                machine=estimate.machine_name,
                recordings_sha256=tuple(source.sha256 for source in provenance.recordings),
                version=provenance.feltload,
                invented=provenance.invented,
            )
        )
    return curves, sources


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


def _curves(name: str, estimate: ProfileEstimate, entry: Entry) -> list[MeasuredCurve]:
    """A measurement at each load that counts."""
    wanted = [
        k
        for k, load in enumerate(estimate.loads_kg)
        if entry.load_kg is None or abs(load - entry.load_kg) < SAME_LOAD_KG
    ]
    if not wanted:
        raise UsageError(
            f"was measured with {' and '.join(mass_text(load) for load in estimate.loads_kg)}, not with "
            f"{mass_text(entry.load_kg or 0.0)}",
            where=name,
            remedy="correct the load, or leave it out",
        )
    return [
        MeasuredCurve(
            name=name,
            labels={MACHINE: estimate.machine_name, **entry.labels},
            load_kg=float(estimate.loads_kg[k]),
            rotation_rad=estimate.angle_rad - estimate.start_angle_rad,
            way_m=estimate.handle_path_m,
            static_n=estimate.static_n[k],
            friction_n=estimate.friction_n[k],
        )
        for k in wanted
    ]


def _require_once(sources: Iterable[StudySource]) -> None:
    taken: dict[str, str] = {}
    for source in sources:
        for digest in source.recordings_sha256:
            if digest in taken:
                raise UsageError(
                    f"{source.measurement} and {taken[digest]} are made from the same recording",
                    where=source.path,
                    remedy="name each measurement once: a copy repeats perfectly and says nothing",
                )
            taken[digest] = source.measurement


def _require_one_machine_a_label(curves: Iterable[MeasuredCurve], sources: Iterable[StudySource]) -> None:
    named = {source.measurement: source.machine for source in sources}
    machines: dict[str, tuple[str, str]] = {}
    for curve in curves:
        label, machine = curve.labels[MACHINE], named[curve.name]
        known = machines.setdefault(label, (machine, curve.name))
        if known[0] != machine:
            raise UsageError(
                f'machine "{label}" is "{known[0]}" in {known[1]} and "{machine}" here',
                where=curve.name,
                remedy="give different machines different labels",
            )


def _require_labels(curves: Sequence[MeasuredCurve]) -> None:
    for factor in FACTORS:
        lacking = [curve.name for curve in curves if factor not in curve.labels]
        if 0 < len(lacking) < len(curves):
            raise UsageError(
                f"has no {factor}, though others have",
                where=lacking[0],
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
