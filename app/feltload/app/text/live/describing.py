"""Words of the page on which a machine is described."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.calibration import NeededFor

HEADING: Final = "Describe a machine"
KIND: Final = "What moves"
DRAWING: Final = "As described so far"
DRAWING_ALT: Final = (
    "The machine from the side as the numbers have it: dark on its start stop, faint through its travel. "
    "What has not been typed is drawn with an invented number."
)
DRAWN_WITH_EXAMPLES: Final = "Drawn with invented numbers where nothing is typed yet."
BEFORE_MEASURING: Final = "Let the machine down on its stop and unload it before reaching in with a tape."
UNCERTAINTY: Final = (
    "A number with its standard uncertainty in parentheses: 655(2) mm is 655 mm, give or take 2 mm."
)
SAVE: Final = "Write the machine file"
UNUSUAL: Final = "What few machines have"

_NEEDED: Final[Mapping[NeededFor, str]] = {
    NeededFor.PROFILE: "What a profile needs",
    NeededFor.CHECK: "What a check of the profile against the machine needs as well",
}


def needed_heading(needed_for: NeededFor) -> str:
    """Heading above the questions of a use."""
    return _NEEDED[needed_for]


def saved_text(name: str) -> str:
    """A machine file was written."""
    return f"Written: {name}. It is chosen on the start page."


def cannot_be_drawn(reason: str) -> str:
    """Why there is no drawing of these numbers."""
    return f"Cannot be drawn like this: {reason}"
