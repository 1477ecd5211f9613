"""Where and how to hold, so that a person's strength becomes known, in words."""

from __future__ import annotations

from feltload.app.text.numbers import listed
from feltload.app.text.person.travel import describe_pain
from feltload.app.text.position import describe_position, short_position
from feltload.coaching import WARM_UP, HoldPlan, WorkingTravel
from feltload.signal import Travel


def describe_positions(plan: HoldPlan, machine: str, travel: WorkingTravel, along: Travel) -> list[str]:
    """What hurts, the positions in their order, how to hold there, and what to do with the recording."""
    lines = describe_pain(travel, along)
    lines.append(f"{machine}: hold with the handle at these positions, in this order:")
    lines += [
        f"  {number}. {describe_position(angle_rad, along)}"
        for number, angle_rad in enumerate(plan.angle_rad, start=1)
    ]
    if plan.left_out_rad:
        lines.append(
            f"Left out as painful: {listed([short_position(angle, along) for angle in sorted(plan.left_out_rad)])}."
        )
    warm_up = listed([f"{100 * share:.0f} %" for share in WARM_UP])
    return [
        *lines,
        f"Before recording, anywhere comfortable, three efforts that feel like {warm_up} of your best. At each "
        f"position fix the arm so that it cannot move, build up over a second, hold {plan.hold_s:.0f} s, then rest "
        f"{plan.rest_s / 60:.0f} min; let go between holds.",
        f"Then once more backwards from {short_position(plan.angle_rad[-1], along)}: the second try shows how much "
        f"tries differ. About {plan.duration_s / 60:.0f} min in all; stop earlier when tries get clearly weaker.",
        "Record them in one recording with: feltload record --kind holds",
    ]
