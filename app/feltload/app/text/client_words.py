"""What a client's numbers say, in plain words."""

from __future__ import annotations

import numpy as np

from feltload.app.text.numbers import degrees, force_text
from feltload.coaching import (
    FEELABLE_N,
    UNDER_CHALLENGED,
    DeliveredHelp,
    HelpPlan,
    Match,
    Phase,
    repetitions_at,
)

EVEN_SHARE = 0.05


def match_sentences(found: Match, *, to_client: bool = False) -> list[str]:
    """Where the client runs out, and how evenly the machine asks.

    `to_client` speaks to the client, otherwise about the client.
    """
    who, has, whose = (
        ("you", "you have", "your") if to_client else ("this client", "the client has", "the client's")
    )
    worst = int(np.argmax(found.demand))
    low, high = found.limiting_range_rad
    lines = [
        f"With {found.load_kg:g} kg the machine is hardest for {who} at {degrees(found.limiting_angle_rad)} "
        f"(somewhere between {degrees(low)} and {degrees(high)}): it asks for {force_text(found.load_n[worst])} of "
        f"the {force_text(found.capacity_n[worst])} {has} there, {100 * found.limiting_demand:.0f} % "
        f"± {200 * found.u_limiting_demand:.0f} %."
    ]
    least = int(np.argmin(found.demand))
    if found.under_challenged_share > EVEN_SHARE:
        lines.append(
            f"Over {100 * found.under_challenged_share:.0f} % of the travel it asks for less than "
            f"{100 * UNDER_CHALLENGED * found.limiting_demand:.0f} % of {whose} strength, seven tenths of the hardest: "
            f"there {'you are' if to_client else 'the client is'} under-challenged, most of all at "
            f"{degrees(found.angle_rad[least])} ({100 * found.demand[least]:.0f} %)."
        )
    else:
        lines.append(
            f"It challenges {who} about evenly through the whole travel: nowhere less than "
            f"{100 * found.demand[least]:.0f} %."
        )
    if found.limiting_demand < 0.5:
        lines.append("That is light everywhere: the plates, not the position, decide.")
    return lines


def repetition_sentence(found: Match) -> str:
    """Repetitions through the full range, as a range."""
    reps = repetitions_at(found.limiting_demand, found.u_limiting_demand)
    return f"Repetitions to be expected through the full range: {reps} (an estimate)."


def delivered_sentences(found: DeliveredHelp, plan: HelpPlan | None) -> list[str]:
    """What a partner gave, and how it compares with the plan."""
    count = len({p.repetition for p in found.passes})
    if not found.helped:
        least = max(FEELABLE_N, float(np.nanmax(found.concentric_u95_n)))
        return [
            f"No help is seen in {count} repetition{'s' if count != 1 else ''}: what is left lies within "
            f"± {least:.0f} N of zero."
        ]
    phases: tuple[tuple[str, Phase], ...] = (("raising", "concentric"), ("lowering", "eccentric"))
    lines = [line for word, phase in phases for line in _phase_sentences(found, word, phase)]
    if plan is not None:
        lines += _against_plan(found, plan)
    return lines or ["Help and resistance came and went; on the mean nothing stands out at one position."]


def _phase_sentences(found: DeliveredHelp, word: str, phase: Phase) -> list[str]:
    values, band = found.of(phase)
    if not np.isfinite(values).any():
        return []
    lines = []
    for sign, what in ((1.0, "help was greatest"), (-1.0, "resistance was added most")):
        place = int(np.nanargmax(sign * values))
        if sign * values[place] <= max(band[place], FEELABLE_N):
            continue
        each = sign * np.array([p.help_n[place] for p in found.passes if p.phase == phase])
        each = each[np.isfinite(each)]
        lines.append(
            f"While {word}, {what} at {degrees(found.angle_rad[place])}: {force_text(sign * values[place])} "
            f"± {band[place]:.0f} N, from {each.min():.0f} to {each.max():.0f} N over {each.size} repetitions."
        )
    return lines


def _against_plan(found: DeliveredHelp, plan: HelpPlan) -> list[str]:
    planned = np.interp(found.angle_rad, plan.angle_rad, plan.help_n, left=np.nan, right=np.nan)
    both = np.isfinite(planned) & np.isfinite(found.concentric_n)
    if not both.any():
        return []
    gap = found.concentric_n[both] - planned[both]
    worst = int(np.argmax(np.abs(gap)))
    place = found.angle_rad[both][worst]
    aim = planned[both][worst]
    asked = f"{force_text(abs(aim))} of {'help' if aim > 0 else 'resistance'}"
    got = found.concentric_n[both][worst]
    gave = (
        f"{force_text(abs(got))} of {'help' if got > 0 else 'resistance'}"
        if abs(got) > FEELABLE_N
        else "nothing"
    )
    return [
        f"Against the plan, while raising: {np.sqrt(np.mean(gap**2)):.0f} N off on the whole; most at "
        f"{degrees(place)}, where {asked} was planned and {gave} given."
    ]
