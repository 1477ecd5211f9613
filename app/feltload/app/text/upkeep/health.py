"""A machine's state in words: figures with their uncertainty, and changes. Never which part is to blame."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.app.text.machine.comparison import FRICTION, describe_difference
from feltload.app.text.machine.friction import describe_tight_spots
from feltload.app.text.numbers import force_with_band, load_text, number_with_u

if TYPE_CHECKING:
    from feltload.app.jobs.upkeep.changes import HealthChange, Trend
    from feltload.app.jobs.upkeep.entries import KeptValue
    from feltload.app.jobs.upkeep.health import ArmHealth, MachineHealth, Since
    from feltload.coaching import CurveDifference

DEFER: Final = (
    "These figures say that something changed, not which part, nor whether the machine is safe. Inspection and repair "
    "follow the maker's instructions, and belong to whoever is qualified for them."
)


def describe_health(health: MachineHealth) -> list[str]:
    """Every figure and its change, the trend, left against right, then what these do not say."""
    lines = []
    for arm in health.arms:
        lead = f"{arm.entry.side.capitalize()} arm: " if arm.entry.side else ""
        lines += [f"{lead}{line}" for line in describe_arm(arm)]
    return [*describe_log(health), *lines, *describe_sides(health), DEFER]


def describe_log(health: MachineHealth) -> list[str]:
    """What is wrong with the log, and with the set-ups in it."""
    lines = []
    if health.log.cut:
        lines.append(
            f"The last line of {health.path.name} was not written to its end and is left out: measure or keep that "
            "result again."
        )
    shas = {since.entry.machine_sha256 for arm in health.arms for since in arm.since}
    if shas - {arm.entry.machine_sha256 for arm in health.arms}:
        lines.append(
            "The machine file changed since an earlier measurement; friction and play do not rest on it, as long as "
            "the handle is the same."
        )
    return lines


def describe_arm(arm: ArmHealth) -> list[str]:
    """Every figure of one arm, what changed since the last and the first measurement, and the trend."""
    values = arm.entry.values
    if not any(value.kind == "friction" for value in values):
        lines = ["Nothing is known of friction: the result does not hold its band."]
    else:
        lines = []
    lines += [_line(value, arm) for value in values]
    lines += describe_unknown(arm)
    if arm.otherwise:
        lines.append(
            "Earlier measurements that were made in another way are not compared: friction of a machine that is held "
            "at stops is not that of one that moves."
        )
    elif arm.last is None:
        lines.append("This is the first measurement in the log: there is nothing to compare it with yet.")
    if arm.last is not None and not any(change.before for since in arm.since for change in since.changes):
        lines.append("There is no load in common with earlier measurements: nothing can be compared.")
    lines += [line for since in arm.since for line in describe_where(arm, since)]
    lines += [describe_trend(trend) for trend in arm.trends]
    return [*lines, *describe_tight_spots(arm.estimate, int(np.argmax(arm.estimate.loads_kg)))]


def describe_unknown(arm: ArmHealth) -> list[str]:
    """What the measurement cannot say of play and flex."""
    kinds = {value.kind for value in arm.entry.values}
    if not arm.estimate.moved:
        return ["Play and flex: not determined, since nothing moved while the scale was read."]
    lines = []
    if "play" not in kinds:
        lines.append(
            "Play: none found, which does not rule it out: between handle and sensor it would not show. Feel for it by "
            "hand, with the load off and the arm secured."
        )
    if "ringing" not in kinds:
        lines.append("Flex: not determined, since the machine was not seen to ring.")
    return lines


def describe_where(arm: ArmHealth, since: Since) -> list[str]:
    """Where friction of each load changed since an earlier measurement, as far as a place is apart from the rest."""
    sentences = []
    for change in since.changes:
        curve = change.curve
        if curve is None or change.now.load_kg is None or not has_places(curve):
            continue
        sentences.append(
            describe_difference(
                _moved(curve, arm),
                f"With {load_text(change.now.load_kg)}, compared with {since.entry.measured[:10]}",
                first="this measurement",
                second=f"that of {since.entry.measured[:10]}",
                together="both",
                travel=arm.estimate.travel,
                compared=FRICTION,
            )
        )
    return sentences


def has_places(difference: CurveDifference) -> bool:
    """Whether a difference has places worth naming: apart from the rest, or where the mean alone shows nothing."""
    return bool(
        difference.somewhere.any() or (difference.established.any() and not difference.mean_established)
    )


def describe_sides(health: MachineHealth) -> list[str]:
    """Whether friction of the left arm differs from that of the right one, on average and by position."""
    sentences = []
    for load_kg, difference in health.sides:
        lead = f"Friction with {load_text(load_kg)}, left against right"
        gap = force_with_band(abs(difference.mean), difference.mean_u95)
        more = "left" if difference.mean > 0.0 else "right"
        sentences.append(
            f"{lead}: {more} is the larger by {gap} on average."
            if difference.mean_established
            else f"{lead}: no difference on average that the measurements can show ({gap})."
        )
        if has_places(difference):
            sentences.append(
                describe_difference(
                    _moved(difference, health.arms[0]),
                    lead,
                    first="the left arm",
                    second="the right arm",
                    together="both arms",
                    travel=health.arms[0].estimate.travel,
                    compared=FRICTION,
                )
            )
    return sentences


def describe_trend(trend: Trend) -> str:
    """How a figure goes over all measurements of the log."""
    way = "more" if trend.per_month > 0.0 else "less"
    size = value_text(abs(trend.per_month), trend.u95, trend.value.kind)
    over = f"over {trend.count} measurements in {trend.days:.0f} days"
    if not trend.established:
        return f"{name_of(trend.value)}, {over}: no trend that they can show ({size} a month)."
    return f"{name_of(trend.value)}, {over}: {size} {way} each month, if it goes on a straight line."


def _line(value: KeptValue, arm: ArmHealth) -> str:
    now = f"{name_of(value)}: {value_text(value.value, value.u95, value.kind)}"
    told = [_changed(change, since) for since in arm.since for change in since.changes if change.now is value]
    return f"{'; '.join([now, *filter(None, told)])}."


def _changed(change: HealthChange, since: Since) -> str:
    if change.before is None:
        return ""
    day = since.entry.measured[:10]
    gap = value_text(abs(change.difference), change.u95, change.now.kind)
    if not change.established:
        return f"since {day} no change that the measurements can show ({gap})"
    way = "more" if change.difference > 0.0 else "less"
    return f"{gap} {way} than on {day}, which is more than both measurements' uncertainty"


def _moved(curve: CurveDifference, arm: ArmHealth) -> CurveDifference:
    """The difference along the angles of the result."""
    return replace(curve, angle_rad=curve.angle_rad + arm.estimate.start_angle_rad)


def name_of(value: KeptValue) -> str:
    """What a figure is."""
    if value.load_kg is not None:
        return f"Friction with {load_text(value.load_kg)}, on average"
    return "Play" if value.kind == "play" else "Frequency at which it rings"


def value_text(value: float, u95: float, kind: str) -> str:
    """A figure with its band and unit."""
    if kind == "friction":
        return force_with_band(value, u95)
    if kind == "play":
        return f"{number_with_u(float(np.degrees(value)), float(np.degrees(u95)))}°"
    return f"{number_with_u(value, u95)} Hz"
