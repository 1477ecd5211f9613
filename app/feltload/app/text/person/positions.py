"""Where and how to hold, so that a person's strength becomes known, in words."""

from __future__ import annotations

from feltload.app.text.numbers import degrees, listed
from feltload.app.text.person.travel import describe_pain
from feltload.coaching import WARM_UP, HoldPlan, WorkingTravel


def describe_positions(plan: HoldPlan, machine: str, travel: WorkingTravel) -> list[str]:
    """What hurts, the positions in their order, how to hold there, and what to do with the recording."""
    lines = describe_pain(travel)
    lines.append(f"{machine}: hold at these angles of the handle's line, in this order:")
    lines += [
        f"  {number}. {degrees(angle_rad):>4}, {100 * share:.0f} % of the travel from its start"
        for number, (angle_rad, share) in enumerate(zip(plan.angle_rad, plan.share, strict=True), start=1)
    ]
    if plan.left_out_rad:
        lines.append(
            f"Left out as painful: {listed([degrees(angle) for angle in sorted(plan.left_out_rad)])}."
        )
    warm_up = listed([f"{100 * share:.0f} %" for share in WARM_UP])
    return [
        *lines,
        f"Before recording, anywhere comfortable, three efforts that feel like {warm_up} of your best. At each "
        f"position fix the arm so that it cannot move, build up over a second, hold {plan.hold_s:.0f} s, then rest "
        f"{plan.rest_s / 60:.0f} min; let go between holds.",
        f"Then once more backwards from {degrees(plan.angle_rad[-1])}: the second try shows how much tries differ. "
        f"About {plan.duration_s / 60:.0f} min in all; stop earlier when tries get clearly weaker.",
        "Record them in one recording with: feltload record --kind holds",
    ]
