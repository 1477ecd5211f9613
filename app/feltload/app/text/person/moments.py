"""What is asked for at a moment of a recording, in a sentence, for whoever can tap or press a key."""

from __future__ import annotations

import math
from dataclasses import dataclass

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import Ask, Beat, Moment
from feltload.app.text.numbers import sentence
from feltload.app.text.position import describe_position, short_position
from feltload.signal import Travel

GO_TO_A_CLINICIAN = "Pain or injury goes to a licensed clinician."
OVERLOADED = "Over the rated capacity of the cell: let the load down now."


@dataclass(frozen=True)
class Controls:
    """How a person goes on and ends, as it is named on the screen.

    Attributes
    ----------
    go_on : str
        Such as "Space".
    end : str
        Such as "Enter, then y".
    zero_after : str
        Such as "press z".
    """

    go_on: str
    end: str
    zero_after: str

    @property
    def end_here(self) -> str:
        """What to do to end."""
        return f"end here ({self.end})"


KEYS = Controls(go_on="Space", end="Enter, then y", zero_after="z when hands are off")


def first_of_all(status: RecordingStatus) -> str | None:
    """What comes before any script: an overload, the connection, the zero; None when it is the script's turn."""
    if any(stream.overloaded for stream in status.streams):
        return OVERLOADED
    if status.phase == "connecting":
        return "Connecting to the sensors …"
    if status.phase == "tare":
        left = math.ceil(status.remaining_s or 0.0)
        return f"Hands off, arm on its stop: {left} s of rest."
    return None


def moment_headline(moment: Moment, along: Travel | None, controls: Controls = KEYS) -> str:
    """One sentence for the moment.

    Parameters
    ----------
    moment : Moment
    along : Travel or None
        What positions are said as parts of; None where none is asked for.
    controls : Controls
    """
    if moment.angle_rad is not None or moment.next_angle_rad is not None:
        return _hold_headline(moment, along, controls)
    return _headline(moment, controls)


def _headline(moment: Moment, controls: Controls) -> str:
    match moment.ask:
        case Ask.MOVE | Ask.MOVE_HELPED if moment.waited_long:
            return "No movement seen yet. Is the inertial sensor on the moving part?"
        case Ask.MOVE_HELPED:
            return "Now repeat slowly, stop to stop, the partner helping as agreed in every repetition."
        case Ask.MOVE:
            return "Now repeat slowly through the whole range, stop to stop."
        case Ask.SLOW:
            return f"Slow repetitions{_tempo(moment.beat)}."
        case Ask.BRISK:
            return "Now some brisk ones, still stop to stop. Then rest on the stop, hands off."
        case Ask.HELPED:
            return f"Help in every repetition{_tempo(moment.beat)}. Then rest on the stop, hands off."
        case Ask.REST_AFTER if not math.isnan(moment.left_s):
            return f"Hands off, arm on its stop: {math.ceil(moment.left_s)} s of rest."
        case Ask.REST_AFTER:
            return (
                f"Enough repetitions, as far as they can be counted now. Arm on its stop, hands off: "
                f"{controls.zero_after}. Or go on with more."
            )
        case Ask.OVERLOAD:
            return f"{OVERLOADED} {controls.go_on} goes on with less; or {controls.end_here}."
        case Ask.PAIN | Ask.TOO_FEW:
            return (
                f"Pain is marked. Let the load down on its stop, hands off, and {controls.end_here}. "
                f"{GO_TO_A_CLINICIAN}"
            )
        case _:
            return f"That is all. Let go, arm on its stop; then {controls.end_here}."


def _tempo(beat: Beat | None) -> str:
    if beat is None:
        return ""
    word = "up" if beat.raising else "down"
    return f", {beat.half_s:.0f} s up and {beat.half_s:.0f} s down: {word} {beat.count}"


def _hold_headline(moment: Moment, along: Travel | None, controls: Controls) -> str:
    at, after = (_place(angle, along) for angle in (moment.angle_rad, moment.next_angle_rad))
    arm = "" if moment.arm_rad is None or along is None else short_position(moment.arm_rad, along)
    left = 0 if math.isnan(moment.left_s) else math.ceil(moment.left_s)
    which = f"Hold {moment.number} of {moment.count}"
    go_on = (
        sentence(controls.end_here)
        if moment.next_angle_rad is None
        else f"{controls.end.split(',')[0]} ends; {controls.go_on} goes on only if {after} and the others do not hurt."
    )
    sentences = {
        Ask.SET_UP: (
            f"{which}: fix the arm at {at}; now it is at about {arm}. "
            f"{controls.go_on} when it cannot move, the partner is ready and nothing hurts."
        ),
        Ask.COUNTDOWN: f"{which}, {at}: ready … {left}",
        Ask.BUILD_UP: f"{which}, {at}: build up over a second.",
        Ask.HOLD: f"{which}, {at}: hold as strongly as you can without pain, breathing … {left}",
        Ask.REST: (
            f"Let go. Rest {left // 60}:{left % 60:02d}, then {which.lower()}: {after}; "
            f"the arm may be moved there, now at about {arm}."
        ),
        Ask.PAIN: (
            f"Pain at {at} is marked: let go, let the load down. It is not asked for again. {GO_TO_A_CLINICIAN} "
            f"{go_on}"
        ),
        Ask.TOO_FEW: (
            f"Pain at {at} is marked: let go, let the load down, and {controls.end_here}. Too few positions are "
            f"left for a curve. {GO_TO_A_CLINICIAN}"
        ),
        Ask.OVERLOAD: (
            f"Over the rated capacity of the cell: let go now. {sentence(controls.end_here)} and use a cell with "
            f"more capacity; {controls.go_on} goes on."
        ),
        Ask.DONE: (f"That was the last hold. Let go, arm on its stop, hands off; then end ({controls.end})."),
    }
    return sentences[moment.ask]


def _place(angle_rad: float | None, along: Travel | None) -> str:
    if angle_rad is None or along is None:
        return "this position"
    return describe_position(angle_rad, along)
