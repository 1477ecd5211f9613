"""The measurements of a study, read: results, recordings that are profiled first, or a dataset of many."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.measuring.measurement import measure
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.study.checks import certificate_facts, far_off, require_sound
from feltload.app.jobs.study.dataset import read_dataset
from feltload.app.jobs.study.facts import StudyFact
from feltload.app.jobs.study.file import Entry, StudyPlan
from feltload.app.jobs.study.measured import (
    MACHINE,
    MeasuredCurve,
    StudyData,
    StudySource,
    on_common_travel,
)
from feltload.coaching import SAME_LOAD_KG
from feltload.core import Fact, Severity, mass_text
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
        _require_known(plan.leave_out, [source.measurement for source in sources])
        curves = [curve for curve in curves if curve.name not in plan.leave_out]
        sources = [source for source in sources if source.measurement not in plan.leave_out]
    else:
        curves, sources = _read_entries(plan, advance)
    if not curves:
        raise UsageError(
            "leaves out every measurement", where=", ".join(plan.leave_out), remedy="leave some of them in"
        )
    require_sound(curves, sources)
    rows = tuple(on_common_travel(curves))
    left_out = [] if not plan.leave_out else [_left_out(plan.leave_out)]
    return StudyData(rows, tuple(sources), (*left_out, *far_off(rows), *certificate_facts(sources)))


def _left_out(names: Sequence[str]) -> Fact:
    return Fact(StudyFact.LEFT_OUT, Severity.NOTE, figures={"measurements": ", ".join(names)})


def _require_known(leave_out: Sequence[str], names: Sequence[str]) -> None:
    for name in leave_out:
        if name not in names:
            raise UsageError(
                "is no measurement of this study",
                where=f"leave_out: {name}",
                remedy="write its name as in measurements.csv",
            )


def _read_entries(
    plan: StudyPlan, advance: Callable[[float], None]
) -> tuple[list[MeasuredCurve], list[StudySource]]:
    curves: list[MeasuredCurve] = []
    sources: list[StudySource] = []
    names = _names([entry.path for entry in plan.entries])
    _require_known(plan.leave_out, names)
    for done, (name, entry) in enumerate(zip(names, plan.entries, strict=True)):
        advance(done)
        if name in plan.leave_out:
            continue
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
                force_certificates=frozenset(
                    digest for source in provenance.recordings for digest in source.force_certificates
                ),
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
    provenance = load_provenance(path)
    if provenance.prediction is not None:
        raise UsageError(
            "is a prediction, which nobody measured",
            where=str(path),
            remedy="name results of `feltload profile`; `feltload compare` sets a prediction beside a measurement",
        )
    return load_possible(path), provenance


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
