"""A partner's hands and a client's set, in plain words."""

from __future__ import annotations

from feltload.app.text.numbers import ForceUnit, force_text, force_unit, hand_force, load_text
from feltload.app.text.person.travel import over_the_travel
from feltload.app.text.position import short_position, stretch_text
from feltload.coaching import (
    STEADY_HAND_N,
    Course,
    HandAction,
    HelpPlan,
    HelpStretch,
    Phase,
    SetEffort,
)
from feltload.signal import Travel

HANDS_OFF = "hands off"
LOST_RANGE = -0.05
"""A last repetition shorter than the first by more than this is said."""
HAND_STEPS = {ForceUnit.NEWTON: 1.0, ForceUnit.KILOGRAM_FORCE: 0.5, ForceUnit.POUND_FORCE: 1.0}
"""A hand tells no finer apart; a plan's newtons come in steps of five."""
VERBS = {Phase.CONCENTRIC: "raising", Phase.ECCENTRIC: "lowering"}


def describe_stretch(stretch: HelpStretch, along: Travel) -> str:
    """One line that a partner can follow, led by the part of the travel."""
    where = stretch_text(stretch.from_rad, stretch.to_rad, along)
    band = f"± {hand_force(stretch.u95_n)}"
    if stretch.action == HandAction.LEAVE:
        return f"{where}: hands off (not certain to {band})"
    verb = "help" if stretch.action == HandAction.HELP else "add resistance"
    if stretch.course == Course.PEAK_INSIDE:
        most = f"most at {short_position(stretch.peak_rad, along)}"
        return f"{where}: {verb}, {most}, about {hand_text(stretch.peak_n)} ({band})"
    if stretch.course == Course.STEADY:
        return f"{where}: {verb}, about {hand_text(stretch.mean_n)} throughout ({band})"
    way = "building up" if stretch.course == Course.BUILDING_UP else "easing off"
    first, last = hand_text(stretch.first_n), hand_text(stretch.last_n)
    return f"{where}: {verb}, {way} from about {first} to {last} ({band})"


def hand_text(force_n: float) -> str:
    """``50 N (5 kgf)``: a force as a hand can give it, in the unit asked for, the other one beside it."""
    unit = force_unit()
    return f"{_hand_figure(force_n, unit)} ({_hand_figure(force_n, unit.beside)})"


def _hand_figure(force_n: float, unit: ForceUnit) -> str:
    step = HAND_STEPS[unit]
    return f"{step * round(force_n / (step * unit.newtons)):g} {unit}"


def describe_aim(plan: HelpPlan, along: Travel, ends: str = "") -> str:
    """What a plan is for, as the head of its lines; `ends` are a wanted start and turn in words."""
    where = "everywhere" if plan.travel.whole else over_the_travel(plan.travel, along)
    wanted = f", {ends}" if ends else ""
    return f"With {load_text(plan.load_kg)}, to feel {100 * plan.target:.0f} % of capacity {where}{wanted}:"


def describe_plan(plan: HelpPlan, along: Travel) -> list[str]:
    """The plan for a partner, in the order of the movement each way, and where it asks for too much."""
    lines = [
        f"{VERBS[phase].capitalize()}, by part of the travel: "
        f"{'; '.join(describe_stretch(stretch, along) for stretch in plan.in_order(phase))}."
        for phase in Phase
    ]
    if plan.beyond_a_hand:
        lines.append(
            f"More than {force_text(STEADY_HAND_N)} is more than a partner gives evenly: "
            f"{instead_of_hands(plan)} first."
        )
    return lines


def instead_of_hands(plan: HelpPlan) -> str:
    """What to do where a plan is beyond a hand; never more plates."""
    needed = [force_n for phase in Phase for force_n in plan.needed_n(phase)]
    instead = [
        *(["take plates off"] if max(needed) > STEADY_HAND_N else []),
        *(["aim at a smaller share of capacity"] if min(needed) < -STEADY_HAND_N else []),
    ]
    return " or ".join(instead)


def describe_kind(plan: HelpPlan) -> str:
    """``help by hand``, ``resistance by hand`` or both; `HANDS_OFF` where nothing is to be given."""
    words = {HandAction.HELP: "help", HandAction.RESIST: "resistance"}
    told = {stretch.action for phase in Phase for stretch in plan.stretches(phase)}
    given = [word for action, word in words.items() if action in told]
    return f"{' and '.join(given)} by hand" if given else HANDS_OFF


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
        f"Momentum carried the end of repetition {which}: at most {hand_force(most.end_relieved_n)} taken off the "
        f"last third, after {hand_force(most.start_added_n)} added in the first."
    )
    return lines
