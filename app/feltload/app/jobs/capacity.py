"""What a person can produce, from holds, maximal repetitions or a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from feltload.app.jobs.client_inputs import read_session
from feltload.app.jobs.kinds import Wanted
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.calibration import load_machine
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
from feltload.core import Floats

MarksOf = Callable[[str, str | None, Sequence[tuple[float, float]]], tuple[PainMark, ...]]
Effort = Literal["holds", "repetitions"]


def no_marks(
    _machine: str, _side: str | None, _reported: Sequence[tuple[float, float]]
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
    handle_path_m : ndarray, shape (n,), optional
        Way of the handle from the curve's first angle, where a machine file gives it.
    """

    curve: CapacityCurve
    machine: str
    handle_path_m: Floats | None = None


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
        machine = source.stem if replaced.machine is None else load_machine(replaced.machine).name
        table = replace(capacity_from_table(source), side=side)
        return MeasuredCapacity(replace(table, painful=marks_of(machine, side, ())), machine)
    wanted: Wanted = "holds" if effort == "holds" else "maximal-repetitions"
    session = read_session(source, replaced=replaced, side=side, wanted=wanted)
    marks = marks_of(session.machine, session.motion.side, session.painful_rad)
    curve = (
        _from_holds(session.motion, standing_spans(marks))
        if effort == "holds"
        else _from_repetitions(session.motion)
    )
    facts = (*session.damage, *curve.warnings)
    handle = session.reference.handle_travel
    return MeasuredCapacity(
        replace(curve, invented=session.invented, warnings=facts, painful=marks),
        session.machine,
        None if handle is None else handle.path_m(curve.angle_rad - session.reference.start_angle_rad),
    )


def _from_holds(motion: PersonMotion, painful_rad: Sequence[tuple[float, float]]) -> CapacityCurve:
    holds, left_out = find_holds(motion.time_s, motion.angle_rad, motion.force_n)
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
