"""Words of the page that puts a measured machine and a client together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from feltload.app.text.numbers import listed
from feltload.app.text.person.match import share_with_band

HEADING: Final = "Client"
MACHINE: Final = "Measured machine"
STRENGTH: Final = "What the client can produce"
LOAD: Final = "Load, and what it asks of the client at the hardest position"
LOAD_FIELD: Final = "Another load"
LOAD_HINT: Final = 'such as "30 kg"'
SET: Final = "Helped set"
NO_SET: Final = "none"
CHOICES: Final = "Machine, client and load"
NO_MACHINES: Final = "No measured machine in this folder yet."
MEASURE_ONE: Final = "Measure a machine"
NO_STRENGTHS: Final = "Nothing is known yet of what a client can produce on this machine."
MEASURE_STRENGTH: Final = "Measure a client's strength"
WORKING: Final = "Putting them together …"
SHEET: Final = "Client sheet"
SHEET_AGAIN: Final = "Make it again as chosen now"
MAKING_SHEET: Final = "Making the sheet …"
CHANGES: Final = "What would change it"
UNKEPT: Final = "Marked painful, of a client without a code"
UNKEPT_UNTIL: Final = (
    "Nobody is asked to work there as long as these pages are open. With a code, typed on the start page before a "
    "recording, they are kept in that client's folder."
)
ANOTHER_CLIENT: Final = "Another client: leave these marks out"


def load_detail(demand: float, u_demand: float, *, measured: bool) -> str:
    """What a load asks for of what the client has."""
    return f"{share_with_band(demand, u_demand)}, {'measured' if measured else 'predicted'}"


def written_text(name: str) -> str:
    """A sheet was written."""
    return f"Written: {name}. It is readable by you alone until you share it."


def unkept_text(machine: str, ranges: Sequence[str]) -> str:
    """Marks of a client without a code."""
    return f"{machine}: {listed(ranges)}"
