"""Words of the pages that show what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from feltload.app.text.numbers import listed

HEADING: Final = "Result"
NOTHING: Final = "Nothing has been measured yet."
BEGIN: Final = "Measure, or open what is there"
PERSONAL: Final = "A person was measured. The result is shown to whoever controls the measurement."
WORKING: Final = "Estimating …"
NEXT: Final = "Go on"
MORE: Final = "More of what it shows"
REPEAT: Final = "Repeat with the same load"
ADD_LOAD: Final = "Add another load"
ADD_LOAD_WHY: Final = (
    "A second load tells the arm's own weight from that of the plates; then other loads can be predicted."
)
HOLDS: Final = "Measure a client here"
PAIN: Final = "Pain was reported"
FIT: Final = "Fit it to a client"
SHEET: Final = "Client sheet"
HELPED: Final = "Record a helped set"
NUMBERS: Final = "The numbers of this figure"
KEPT: Final = "Where it is kept"
AFTER_HOLDS: Final = (
    "Next: put this beside the measured machine. The client sheet says where this client runs out and what would "
    "change it."
)
AFTER_HELP: Final = "Next: the client sheet shows what was given beside the plan."
NO_PROFILE: Final = (
    "help by hand is measured against the machine without help, and no measured profile was chosen"
)
NO_PROFILE_REMEDY: Final = "measure the machine without help, then choose this set on the start page"


def doubts_text(count: int) -> str:
    """Name of what is folded away about the data."""
    return f"To be known about the data ({count})"


def kept_text(name: str, sources: tuple[str, ...]) -> str:
    """Where a result and the recordings behind it are."""
    return f"{name}, made of {listed(sources)}." if sources and sources != (name,) else f"{name}."


def pain_not_kept(places: Sequence[str]) -> str:
    """Pain reported by a person without a code."""
    return (
        f"{listed(places)}: nobody is asked to work there as long as these pages are open. With the client's code, "
        "typed on the start page before the next recording, this is kept in the client's folder for every later day."
    )


def pain_not_placed(reason: str) -> str:
    """Pain was reported, and where it was cannot be determined."""
    return (
        f"Where it was cannot be determined, so nothing is marked: {reason}. Ask the client, and mark the range with "
        "`feltload client pain` before anything else is planned."
    )
