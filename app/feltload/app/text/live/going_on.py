"""Words of the start page about what the folder holds already, and what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

HERE: Final = "What is there already"
MACHINES: Final = "Measured machines"
STRENGTHS: Final = "What clients can produce"
UNUSED: Final = "Recordings without a result"
SETS_AND_SHEETS: Final = "Helped sets and client sheets"
SHEET: Final = "sheet"
OPEN: Final = "Open"
HOLDS: Final = "Measure a client"
FIT: Final = "Fit to a client"
FIT_MACHINE: Final = "Fit to a machine"
INVENTED: Final = "invented data"
NO_CODE: Final = "Client without a code"
MAKE: Final[Mapping[str, str]] = {
    "machine": "Make the profile",
    "holds": "Make the capacity",
    "helped": "Show the help given",
}
"""What can be made of a recording, by its kind."""

_KINDS: Final[Mapping[str, str]] = {
    "machine": "repetitions",
    "holds": "maximal holds",
    "helped": "a helped set",
}


def next_text(*, described: bool, sensors: bool, unused: bool, measured: bool, strengths: bool) -> str:
    """What comes next.

    Parameters
    ----------
    described, sensors, unused, measured, strengths : bool
        Whether there are machine files, rig files, recordings of a machine without a result, measured machines,
        capacities.
    """
    if unused and not measured:
        return "Next: make the profile of what was recorded."
    if strengths and measured:
        return "Next: put machine and client together, or measure another one."
    if measured:
        return "Next: measure what a client can produce on the machine, or measure another one."
    if described and sensors:
        return "Next: name the load, and record the machine."
    if described:
        return "Next: find the sensors, name the load, and record the machine."
    return "Begin here: describe the machine, find the sensors, record."


def older_text(count: int) -> str:
    """What is folded away."""
    return f"{count} more"


def kind_word(kind: str) -> str:
    """What a recording holds."""
    return _KINDS[kind]


def whose(client: str) -> str:
    """Whose a file is."""
    return f"Client {client}" if client else NO_CODE


def in_a_line(parts: Sequence[str | None]) -> str:
    """What is known of a thing, such as its loads, day and file."""
    return " · ".join(part for part in parts if part)
