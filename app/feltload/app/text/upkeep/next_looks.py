"""What to look at next on a machine, by the maker's instructions: never that a machine is safe."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feltload.app.text.numbers import listed
from feltload.app.text.position import describe_span
from feltload.core import Flags, runs_of_true

if TYPE_CHECKING:
    from feltload.app.jobs.upkeep.changes import HealthChange
    from feltload.app.jobs.upkeep.health import ArmHealth, MachineHealth


def describe_next(health: MachineHealth) -> list[str]:
    """What to look at next: one sentence each, never that nothing needs looking at."""
    steps = []
    for arm in health.arms:
        lead = f"{arm.entry.side.capitalize()} arm: " if arm.entry.side else ""
        steps += [f"{lead}{step}" for step in _steps(arm)]
    if any(difference.mean_established or difference.established.any() for _, difference in health.sides):
        steps.append(
            "The arms differ in friction: compare what slides and turns on the one with what does on the other."
        )
    compared = any(change.before for arm in health.arms for since in arm.since for change in since.changes)
    if not steps and not compared:
        steps.append(
            "What changes shows from the next measurement on: same load, handle and line of pull, on a day as warm. "
            "Keep to the maker's inspections and intervals: this measurement takes the place of none of them."
        )
    elif not steps:
        steps.append(
            "No change was found that asks for a look at a certain place. Keep to the maker's inspections and "
            "intervals: this measurement takes the place of none of them."
        )
    return steps


def _steps(arm: ArmHealth) -> list[str]:
    """Each kind of finding once, for the measurement before if it shows there, otherwise for the first."""
    steps: dict[str, str] = {}
    for since in arm.since:
        for change in since.changes:
            kind, step = _step(arm, change, since.entry.measured[:10])
            if kind:
                steps.setdefault(kind, step)
    return list(steps.values())


def _step(arm: ArmHealth, change: HealthChange, day: str) -> tuple[str, str]:
    secure = "with the load off and the arm secured"
    if change.now.kind == "play" and change.established and change.difference > 0.0:
        return "play", f"Play grew since {day}: {secure}, look at bushings, bolts and keys."
    if change.now.kind == "ringing" and change.established:
        return "ringing", f"It rings otherwise than on {day}: {secure}, look for a loose bolt or a crack."
    if change.now.kind != "friction":
        return "", ""
    rose = _rose(change)
    if rose is not None and rose.any() and change.curve is not None:
        angle = change.curve.angle_rad + arm.estimate.start_angle_rad
        spans = [
            describe_span((float(angle[begin]), float(angle[stop - 1])), arm.estimate.travel)
            for begin, stop in runs_of_true(rose)
        ]
        return "place", (
            f"Friction rose since {day} from {listed(spans)}: {secure}, look first at what slides, turns or touches "
            "there (rail, bearing, guide, cable); clean and lubricate as the maker's instructions say, then measure "
            "again."
        )
    if change.established and change.difference > 0.0:
        return "all", (
            f"Friction rose since {day} along the travel: clean and lubricate what moves as the maker's instructions "
            "say, then measure again. A colder room stiffens grease too: compare days of like temperature."
        )
    if change.established:
        return "less", (
            f"Friction fell since {day}: if nothing was cleaned, lubricated or replaced, and the room is no warmer, "
            "check that load, handle and line of pull are the same."
        )
    return "", ""


def _rose(change: HealthChange) -> Flags | None:
    """Where friction rose by more than on the whole; where it rose at all if the whole shows nothing."""
    curve = change.curve
    if curve is None:
        return None
    apart = curve.somewhere if curve.mean_established else curve.established
    return np.asarray(apart & (curve.values > 0.0))
