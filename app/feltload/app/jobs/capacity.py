"""What a person can produce, from holds, maximal repetitions or a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from feltload.app.jobs.client_inputs import read_session
from feltload.app.jobs.kinds import Wanted
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.calibration import load_machine, reference_of
from feltload.coaching import (
    CapacityCurve,
    PainMark,
    PersonMotion,
    capacity_from_holds,
    capacity_from_repetitions,
    capacity_from_table,
    find_holds,
    standing_spans,
)
from feltload.signal import AngleKind, Reference, Travel, travel_of, whole_travel

MarksOf = Callable[[str, str | None, Sequence[tuple[float, float]], Travel | None], tuple[PainMark, ...]]
Effort = Literal["holds", "repetitions"]


def no_marks(
    _machine: str, _side: str | None, _reported: Sequence[tuple[float, float]], _travel: Travel | None
) -> tuple[PainMark, ...]:
    """Of a client whom nothing hurts."""
    return ()


@dataclass(frozen=True)
class MeasuredCapacity:
    """Capacity by position.

    Attributes
    ----------
    curve : CapacityCurve
    machine : str
        Name of the machine or table that it comes from.
    travel : Travel
        Over the angles of the curve.
    whole : Travel or None
        Of the machine, as far as its file gives it.
    """

    curve: CapacityCurve
    machine: str
    travel: Travel
    whole: Travel | None = None


def measure_capacity(
    source: Path,
    *,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: str | None = None,
    effort: Effort = "holds",
    marks_of: MarksOf = no_marks,
) -> MeasuredCapacity:
    """Capacity of one person.

    Parameters
    ----------
    source : Path
        Recording of the efforts, or a CSV table.
    replaced : ReplacedFiles
        Rig file and machine file in place of those kept in the recording.
    side : {"left", "right"}, optional
        Arm to measure, when the recording holds both.
    effort : {"holds", "repetitions"}
        What the recording holds.
    marks_of : callable
        Given machine, side and the ranges around pain reported while recording, all marks of this client there.
    """
    if source.suffix.lower() == ".csv":
        machine, whole = source.stem, None
        if replaced.machine is not None:
            surveyed = load_machine(replaced.machine)
            machine, whole = surveyed.name, whole_travel(reference_of(surveyed))
        table = replace(capacity_from_table(source), side=side, angle=AngleKind.LEVER)
        table = replace(table, painful=marks_of(machine, side, (), whole))
        return MeasuredCapacity(table, machine, Travel(table.angle_rad), whole)
    wanted: Wanted = "holds" if effort == "holds" else "maximal-repetitions"
    session = read_session(source, replaced=replaced, side=side, wanted=wanted)
    whole = whole_travel(session.reference)
    marks = marks_of(session.machine, session.motion.side, session.painful_rad, whole)
    curve = (
        _from_holds(session.motion, standing_spans(marks), session.reference)
        if effort == "holds"
        else _from_repetitions(session.motion)
    )
    facts = (*session.damage, *curve.warnings)
    travel = travel_of(session.reference, curve.angle_rad)
    curve = replace(
        curve,
        invented=session.invented,
        warnings=facts,
        painful=marks,
        angle=travel.scale.angle,
        path_m=travel.path_m,
    )
    return MeasuredCapacity(curve, session.machine, travel, whole)


def _from_holds(
    motion: PersonMotion, painful_rad: Sequence[tuple[float, float]], reference: Reference
) -> CapacityCurve:
    turning = reference.handle_radius_m if reference.angle is AngleKind.ROTATION else None
    holds, left_out = find_holds(motion.time_s, motion.angle_rad, motion.force_n, handle_m_per_rad=turning)
    return capacity_from_holds(holds, side=motion.side, painful=painful_rad, warnings=left_out)


def _from_repetitions(motion: PersonMotion) -> CapacityCurve:
    parts = [
        (motion.time_s >= start_s) & (motion.time_s <= end_s) for start_s, end_s, _ in motion.repetitions
    ]
    return capacity_from_repetitions(
        [motion.angle_rad[part] for part in parts],
        [motion.force_n[part] for part in parts],
        side=motion.side,
    )
