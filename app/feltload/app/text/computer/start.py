"""What a person may want to do, and what is there for it, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from feltload.app.jobs.beginning.at_hand import AtHand
from feltload.app.jobs.beginning.goals import Goal
from feltload.app.text.numbers import listed

QUESTION = "What do you want to do?"

OPEN_NOW = "Open the page now?"

GOALS: Mapping[Goal, str] = {
    Goal.MEASURE: "measure a machine",
    Goal.CLIENT: "fit a machine to a client",
    Goal.CHECK: "check a machine against its drawing",
}
"""What the answers are called."""

MOST_NAMES = 4
"""More files of one kind are counted, not named."""


def found_text(found: AtHand, ports: Sequence[str], sensors: Sequence[str]) -> list[str]:
    """A line for each kind of thing that is there."""
    lines = [
        _line("Machine files", [path.name for path in found.machines]),
        _line("Rig files", [path.name for path in found.rigs]),
        _line("Recordings", [path.name for path in found.recordings]),
        _line("Measured profiles", [path.name for path in found.results]),
        _line("Capacities", [path.name for path in found.capacities]),
        _line("Plugged in", ports),
        _line("In reach by Bluetooth", sensors),
    ]
    return [line for line in lines if line]


def _line(what: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    more = [f"{len(names) - MOST_NAMES} more"] if len(names) > MOST_NAMES else []
    return f"{what}: {listed([*names[:MOST_NAMES], *more])}"
