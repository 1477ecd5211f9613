"""A partner's hands and a client's set, in plain words."""

from __future__ import annotations

from feltload.app.text.numbers import NO_BREAK, degrees, force_text
from feltload.app.text.person.travel import over_the_travel
from feltload.app.text.position import Travel
from feltload.coaching import (
    STEADY_HAND_N,
    Course,
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


def describe_stretch(stretch: HelpStretch, travel: Travel | None = None) -> str:
    """One line that a partner can follow; the part of the travel is led with where the travel is known."""
    where = f"{degrees(stretch.from_rad)} to {degrees(stretch.to_rad)}"
    if travel is not None:
        first, last = (100.0 * travel.share(angle) for angle in (stretch.from_rad, stretch.to_rad))
        where = f"{first:.0f} to {last:.0f}{NO_BREAK}% ({where})"
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
    where = "everywhere" if plan.travel.whole else over_the_travel(plan.travel)
    return f"At {plan.load_kg:g} kg, to feel {100 * plan.target:.0f} % of capacity {where}:"


def describe_plan(plan: HelpPlan) -> list[str]:
    """The plan for a partner, in the order of the movement each way, and where it asks for too much."""
    travel = Travel.between(plan.travel.measured_rad)
    lines = [
        f"{VERBS[phase].capitalize()}, by part of the travel: "
        f"{'; '.join(describe_stretch(stretch, travel) for stretch in plan.in_order(phase))}."
        for phase in Phase
    ]
    if plan.beyond_a_hand:
        lines.append(
            f"More than {force_text(STEADY_HAND_N)} is more than a partner gives evenly: change the plates first."
        )
    return lines


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
