"""Words of the partner's page during a helped set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

HEADING: Final = "Hands"
PLANNED: Final = "planned"
GIVEN: Final = "given now"
HELP: Final = "help"
RESIST: Final = "resist"
NO_SET: Final = "This page works during a helped set. Choose it on the start page."
NO_PLAN: Final = "No help is planned here: hands off, ready to take the load."
WITHOUT_PLAN: Final = "No plan was chosen: help as agreed before the set, hands off where none was agreed."
CANNOT_KNOW: Final = "What is given cannot be known now:"
LOST: Final = "no connection to the laptop"
NOTHING_YET: Final = "zero, position or measured profile are missing"
LATE: Final = "what arrives is too old to go by"
SOUND: Final = "Sound"
VIBRATION: Final = "Vibration"
SOUND_HOW: Final = "More help is needed: rising beeps. Less: falling ones. Near enough: silence."
DRAWING: Final = "The help planned as an open frame, the help given as a solid mark; upwards is help."

_DOUBTS: Final[Mapping[str, str]] = {
    "no-profile": "no measured profile of this machine was chosen",
    "no-zero": "the zero is not taken yet",
    "no-position": "the position is not known yet; it shows once the arm was moved slowly",
    "outside-profile": "the machine was not measured at this position",
    "turning": "the movement turns here",
    "too-old": LATE,
}


def doubt_text(doubt: str) -> str:
    """Why the help given cannot be known."""
    return f"{CANNOT_KNOW} {_DOUBTS[doubt]}."
