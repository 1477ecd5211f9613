"""What a client and those beside her are told while holds or a helped set are recorded."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.app.text.numbers import listed
from feltload.app.text.position import Span, describe_position, ends_text, short_position
from feltload.coaching import WARM_UP, HoldPlan
from feltload.signal import Travel


def describe_holds_ahead(plan: HoldPlan, machine: str, along: Travel) -> list[str]:
    """What is read before anything is recorded."""
    places = [describe_position(angle_rad, along) for angle_rad in plan.angle_rad]
    warm_up = listed([f"{100 * share:.0f} %" for share in WARM_UP])
    lines = [
        f"{machine}: {len(places)} positions, in this order: {'; '.join(places)}. Then once more backwards, about "
        f"{plan.duration_s / 60:.0f} min in all; stop earlier when tries get clearly weaker.",
        f"Warm up now, before anything is recorded: three efforts anywhere comfortable that feel like {warm_up} of "
        "your best. In the recording they would count as maximal holds.",
    ]
    if plan.left_out_rad:
        left_out = listed([short_position(angle, along) for angle in sorted(plan.left_out_rad)])
        lines.append(f"Left out as painful: {left_out}.")
    return lines


HOLDS_QUESTION = (
    "Is the client warm and without pain, a partner beside the machine, are the stops set? "
    "Then: arm on its stop, hands off, and Space. Any other key leaves without a recording."
)

HELPED_WITHOUT_PLAN = (
    "Partner: agree before the set on how much and where; the same hands, in the same place, in every repetition; "
    "hands off where no help was agreed.",
    "Record the same set without help as well (--kind machine): `client delivered` must find none in it.",
)


def describe_painful(painful_rad: Sequence[Span], along: Travel) -> str:
    """What a set without a plan must keep out of."""
    spans = listed([ends_text(span, along) for span in painful_rad])
    return f"Marked painful: {spans}. Set the stop or start that keeps the client out of it before the set."
