"""What a person can produce, from holds, maximal repetitions or a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from feltload.app.jobs.client_inputs import read_session
from feltload.app.jobs.kinds import Wanted
from feltload.coaching import (
    CapacityCurve,
    PersonMotion,
    capacity_from_holds,
    capacity_from_repetitions,
    capacity_from_table,
    find_holds,
)

Effort = Literal["holds", "repetitions"]


@dataclass(frozen=True)
class MeasuredCapacity:
    """Capacity by position, and the name of the machine or table that it comes from."""

    curve: CapacityCurve
    machine: str


def measure_capacity(
    source: Path,
    *,
    machine_path: Path | None = None,
    side: str | None = None,
    effort: Effort = "holds",
    painful_rad: Sequence[tuple[float, float]] = (),
) -> MeasuredCapacity:
    """Capacity of one person.

    Parameters
    ----------
    source : Path
        Recording of the efforts, or a CSV table.
    machine_path : Path, optional
        Machine file in place of the one kept in the recording.
    side : {"left", "right"}, optional
        Arm to measure, when the recording holds both.
    effort : {"holds", "repetitions"}
        What the recording holds.
    painful_rad : sequence of tuple of float
        Positions marked painful; holds there are not used.
    """
    if source.suffix.lower() == ".csv":
        return MeasuredCapacity(capacity_from_table(source), source.stem)
    wanted: Wanted = "holds" if effort == "holds" else "maximal-repetitions"
    session = read_session(source, machine_path=machine_path, side=side, wanted=wanted)
    curve = (
        _from_holds(session.motion, painful_rad) if effort == "holds" else _from_repetitions(session.motion)
    )
    facts = (*session.damage, *curve.warnings)
    return MeasuredCapacity(replace(curve, invented=session.invented, warnings=facts), session.machine)


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
