"""What a client and those beside her are told while holds or a helped set are recorded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from feltload.app.text.numbers import listed, sentence
from feltload.app.text.position import Span, Travel, angles_text, describe_position, short_position
from feltload.coaching import WARM_UP, HoldPlan

GO_TO_A_CLINICIAN = "Pain or injury goes to a licensed clinician."
END_HERE = "end here (Enter, then y)"
PAIN_STOPS = f"Pain is marked. Let the load down on its stop, hands off, and {END_HERE}. {GO_TO_A_CLINICIAN}"
HOLD_KEYS = "Space next"


class HoldPhase(StrEnum):
    """Where in a session of holds it is."""

    SET_UP = "set-up"
    """The arm is fixed at the position; a key says that it is."""

    COUNTDOWN = "countdown"
    BUILD_UP = "build-up"
    HOLD = "hold"
    REST = "rest"
    PAIN = "pain"
    """Everything stops until a key says that the other positions are without pain."""

    TOO_FEW = "too-few"
    """Fewer positions are without pain than a curve needs."""

    DONE = "done"


@dataclass(frozen=True)
class HoldMoment:
    """One moment of a session of holds.

    Attributes
    ----------
    phase : HoldPhase
    number, count : int
        Which hold of how many.
    angle_rad : float or None
        Its position.
    next_angle_rad : float or None
        The next one's.
    arm_rad : float
        About where the arm is.
    along : Travel
        What positions are a part of.
    left_s : float
        Until this phase is over.
    """

    phase: HoldPhase
    number: int
    count: int
    angle_rad: float | None
    next_angle_rad: float | None
    arm_rad: float
    along: Travel
    left_s: float


def hold_headline(moment: HoldMoment) -> str:
    """One sentence for the moment."""
    at, after = (_place(angle, moment.along) for angle in (moment.angle_rad, moment.next_angle_rad))
    arm = short_position(moment.arm_rad, moment.along)
    left = math.ceil(moment.left_s)
    which = f"Hold {moment.number} of {moment.count}"
    go_on = (
        sentence(END_HERE)
        if moment.next_angle_rad is None
        else f"Enter ends; Space goes on only if {after} and the others do not hurt."
    )
    sentences = {
        HoldPhase.SET_UP: (
            f"{which}: fix the arm at {at}; now it is at about {arm}. "
            "Space when it cannot move, the partner is ready and nothing hurts."
        ),
        HoldPhase.COUNTDOWN: f"{which}, {at}: ready … {left}",
        HoldPhase.BUILD_UP: f"{which}, {at}: build up over a second.",
        HoldPhase.HOLD: f"{which}, {at}: hold as strongly as you can without pain, breathing … {left}",
        HoldPhase.REST: (
            f"Let go. Rest {left // 60}:{left % 60:02d}, then {which.lower()}: {after}; "
            f"the arm may be moved there, now at about {arm}."
        ),
        HoldPhase.PAIN: (
            f"Pain at {at} is marked: let go, let the load down. It is not asked for again. {GO_TO_A_CLINICIAN} "
            f"{go_on}"
        ),
        HoldPhase.TOO_FEW: (
            f"Pain at {at} is marked: let go, let the load down, and {END_HERE}. Too few positions are "
            f"left for a curve. {GO_TO_A_CLINICIAN}"
        ),
        HoldPhase.DONE: "That was the last hold. Let go, arm on its stop, hands off; then end (Enter, then y).",
    }
    return sentences[moment.phase]


def describe_holds_ahead(plan: HoldPlan, machine: str, along: Travel) -> list[str]:
    """What is read before anything is recorded."""
    places = [_place(angle_rad, along) for angle_rad in plan.angle_rad]
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


def describe_painful(painful_rad: Sequence[Span]) -> str:
    """What a set without a plan must keep out of."""
    spans = listed([angles_text(span) for span in painful_rad])
    return f"Marked painful: {spans}. Set the stop or start that keeps the client out of it before the set."


def _place(angle_rad: float | None, along: Travel) -> str:
    return "this position" if angle_rad is None else describe_position(angle_rad, along)
