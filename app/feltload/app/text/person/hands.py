"""A partner's hands and a client's set, in plain words."""

from __future__ import annotations

import numpy as np

from feltload.app.text.numbers import degrees, force_text
from feltload.coaching import (
    FEELABLE_N,
    STEADY_HAND_N,
    Course,
    DeliveredHelp,
    HandAction,
    HelpPlan,
    HelpStretch,
    Phase,
    SetEffort,
)
from feltload.core import STANDARD_GRAVITY_M_S2

LOST_RANGE = -0.05
"""A last repetition shorter than the first by more than this is said."""
VERBS = {Phase.CONCENTRIC: "raising", Phase.ECCENTRIC: "lowering"}


def describe_stretch(stretch: HelpStretch) -> str:
    """One line that a partner can follow."""
    where = f"{degrees(stretch.from_rad)} to {degrees(stretch.to_rad)}"
    if stretch.action == HandAction.LEAVE:
        return f"{where}: hands off (not certain to ± {stretch.u95_n:.0f} N)"
    verb = "help" if stretch.action == HandAction.HELP else "add resistance"
    band = f"(± {stretch.u95_n:.0f} N)"
    if stretch.course == Course.PEAK_INSIDE:
        return (
            f"{where}: {verb}, most at {degrees(stretch.peak_rad)}, about {hand_text(stretch.peak_n)} {band}"
        )
    if stretch.course == Course.STEADY:
        return f"{where}: {verb}, about {hand_text(stretch.mean_n)} throughout {band}"
    way = "building up" if stretch.course == Course.BUILDING_UP else "easing off"
    return f"{where}: {verb}, {way} from about {hand_text(stretch.first_n)} to {hand_text(stretch.last_n)} {band}"


def hand_text(force_n: float) -> str:
    """``50 N (5 kgf)``: a force as a hand can give it, to half a kilogram-force."""
    halves = round(2.0 * force_n / STANDARD_GRAVITY_M_S2)
    return f"{force_n:.0f} N ({0.5 * halves:g} kgf)"


def describe_aim(plan: HelpPlan) -> str:
    """What a plan is for, as the head of its lines."""
    return f"At {plan.load_kg:g} kg, to feel {100 * plan.target:.0f} % of capacity everywhere:"


def describe_plan(plan: HelpPlan) -> list[str]:
    """The plan for a partner: what to do while raising and while lowering, and where it asks for too much."""
    lines = [
        f"{VERBS[phase].capitalize()}: {'; '.join(describe_stretch(stretch) for stretch in plan.stretches(phase))}."
        for phase in Phase
    ]
    if plan.beyond_a_hand:
        lines.append(
            f"More than {force_text(STEADY_HAND_N)} is more than a partner gives evenly: change the plates first."
        )
    return lines


def describe_delivered(delivered: DeliveredHelp, plan: HelpPlan | None) -> list[str]:
    """What a partner gave, and how it compares with the plan."""
    count = len({half.repetition for half in delivered.half_repetitions})
    if not delivered.helped:
        least = max(FEELABLE_N, float(np.nanmax(delivered.u95_n(Phase.CONCENTRIC))))
        return [
            f"No help is seen in {count} repetition{'s' if count != 1 else ''}: what is left lies within "
            f"± {least:.0f} N of zero."
        ]
    lines = [line for phase in Phase for line in _describe_phase(delivered, phase)]
    if plan is not None:
        lines += _describe_against_plan(delivered, plan)
    return lines or ["Help and resistance came and went; on the mean nothing stands out at one position."]


def _describe_phase(delivered: DeliveredHelp, phase: Phase) -> list[str]:
    mean, band = delivered.mean_n(phase), delivered.u95_n(phase)
    if not np.isfinite(mean).any():
        return []
    lines = []
    for sign, what in ((1.0, "help was greatest"), (-1.0, "resistance was added most")):
        greatest = int(np.nanargmax(sign * mean))
        if sign * mean[greatest] <= max(band[greatest], FEELABLE_N):
            continue
        given = sign * np.array(
            [half.help_n[greatest] for half in delivered.half_repetitions if half.phase == phase]
        )
        given = given[np.isfinite(given)]
        lines.append(
            f"While {VERBS[phase]}, {what} at {degrees(delivered.angle_rad[greatest])}: "
            f"{force_text(sign * mean[greatest])} ± {band[greatest]:.0f} N, from {given.min():.0f} to "
            f"{given.max():.0f} N over {given.size} repetitions."
        )
    return lines


def _describe_against_plan(delivered: DeliveredHelp, plan: HelpPlan) -> list[str]:
    mean = delivered.mean_n(Phase.CONCENTRIC)
    planned = np.interp(delivered.angle_rad, plan.angle_rad, plan.help_n, left=np.nan, right=np.nan)
    both = np.isfinite(planned) & np.isfinite(mean)
    if not both.any():
        return []
    gap = mean[both] - planned[both]
    worst = int(np.argmax(np.abs(gap)))
    asked, given = float(planned[both][worst]), float(mean[both][worst])
    return [
        f"Against the plan, while raising: {np.sqrt(np.mean(gap**2)):.0f} N off on the whole; most at "
        f"{degrees(delivered.angle_rad[both][worst])}, where {_describe_force(asked)} was planned and "
        f"{_describe_force(given) if abs(given) > FEELABLE_N else 'nothing'} given."
    ]


def _describe_force(help_n: float) -> str:
    return f"{force_text(abs(help_n))} of {'help' if help_n > 0 else 'resistance'}"


def describe_set(effort: SetEffort) -> list[str]:
    """A set in plain words: its speed, its range, and momentum."""
    count = len(effort.repetitions)
    lines = [f"{count} repetition{'s' if count != 1 else ''}."]
    if count > 1:
        word = "slower" if effort.speed_change < 0 else "faster"
        lines.append(
            f"The last was {abs(100 * effort.speed_change):.0f} % {word} than the fastest before it."
        )
        if effort.range_change < LOST_RANGE:
            lines.append(f"The last travelled {-100 * effort.range_change:.0f} % less than the first.")
    if not effort.by_momentum:
        return [*lines, "No repetition was carried by momentum."]
    which = ", ".join(str(repetition.index + 1) for repetition in effort.by_momentum)
    most = max(effort.by_momentum, key=lambda repetition: repetition.momentum_share)
    lines.append(
        f"Momentum carried the end of repetition {which}: at most {most.end_relieved_n:.0f} N taken off the "
        f"last third, after {most.start_added_n:.0f} N added in the first."
    )
    return lines
