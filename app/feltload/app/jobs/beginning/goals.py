"""What a person wants to do, and the command that does the next part of it with what is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib.util import find_spec
from pathlib import Path

from feltload.app.jobs.beginning.at_hand import AtHand
from feltload.app.next_steps.step import NextStep


class Goal(StrEnum):
    """What a person may want to do."""

    MEASURE = "machine"
    CLIENT = "client"
    CHECK = "check"


@dataclass(frozen=True)
class Plan:
    """What to do now, and what else leads on.

    Attributes
    ----------
    now : NextStep
    instead : NextStep or None
        Another way, where there is one.
    """

    now: NextStep
    instead: NextStep | None = None


def live_installed() -> bool:
    """Whether the page that guides through a measurement can be opened."""
    return all(find_spec(name) is not None for name in ("nicegui", "segno"))


def plan_for(
    goal: Goal, found: AtHand, ports: Sequence[str], *, live: bool = False, folder: Path = Path()
) -> Plan:
    """The next command towards `goal`.

    Parameters
    ----------
    goal : Goal
    found : AtHand
        Files that are there.
    ports : sequence of str
        Serial ports with something plugged in.
    live : bool
        Whether the page that guides through a measurement is installed.
    folder : Path
        Where the files are.
    """
    if goal is not Goal.MEASURE and not found.results and found.recordings and found.machines:
        return Plan(_profile(found))
    if goal is Goal.MEASURE or not found.results:
        # A measured machine, which every other goal needs as well.
        return _on_pages(_measure(found, ports), found, folder, "leads through the whole measurement", live)
    result = found.results[0]
    if goal is Goal.CHECK:
        machine = found.machines[0] if found.machines else "MACHINE.toml"
        return Plan(
            NextStep(("check", result, "--machine", machine), "compares the measurement with the drawing")
        )
    return _on_pages(_client(found), found, folder, "leads from the holds to the client sheet", live)


def _on_pages(at_the_terminal: Plan, found: AtHand, folder: Path, leads: str, live: bool) -> Plan:
    """The pages where they are installed, with the way at the terminal beside them."""
    if not live:
        return at_the_terminal
    there = () if folder == Path() else ("--folder", folder)
    return Plan(NextStep(("live", *found.rigs[:1], *there), f"{leads} in the browser"), at_the_terminal.now)


def _client(found: AtHand) -> Plan:
    """Towards what a measured machine asks of a client, command by command."""
    result = found.results[0]
    if not found.capacities:
        rig = found.rigs[0] if found.rigs else "RIG.toml"
        machine = found.machines[0] if found.machines else "MACHINE.toml"
        hold = ("record", rig, "--kind", "holds", "--result", result, "--machine", machine)
        return Plan(
            NextStep(
                ("client", "positions", result),
                "says where to hold, before the client's strength is recorded",
            ),
            NextStep((*hold, "--load", "LOAD", "--out", "holds.mcap"), "once the positions are marked"),
        )
    words = ("client", "match", result, found.capacities[0], "--load", "LOAD")
    return Plan(NextStep(words, "says where this client runs out"))


def _measure(found: AtHand, ports: Sequence[str]) -> Plan:
    """Towards a measured machine, command by command."""
    if not found.machines:
        return Plan(NextStep(("new", "machine", "machine.toml"), "asks for the machine's dimensions"))
    machine = found.machines[0]
    by_hand = NextStep(
        ("import", "--readings", "stops.csv", "--machine", machine, "--load", "LOAD", "--out", machine.stem),
        "without a load cell: a scale read by hand at stops",
    )
    if not found.rigs:
        if ports:
            words = ("devices", *ports, "--write", "rig.toml")
            return Plan(
                NextStep(words, "finds out what is plugged in; pull on the cell, tilt the sensor"), by_hand
            )
        return Plan(NextStep(("doctor",), "no sensor is plugged in: says what this computer lacks"), by_hand)
    record = NextStep(
        (
            "record",
            found.rigs[0],
            "--machine",
            machine,
            "--load",
            "20 kg",
            "--out",
            f"{machine.stem}-20kg.mcap",
        ),
        "records one load; a second one tells the arm's own weight from the load's",
    )
    if found.recordings and not found.results:
        return Plan(_profile(found), record)
    return Plan(record, by_hand)


def _profile(found: AtHand) -> NextStep:
    machine = found.machines[0]
    words: tuple[str | Path, ...] = (
        "profile",
        *found.recordings,
        "--machine",
        machine,
        "--out",
        machine.stem,
    )
    return NextStep(
        words, "turns the recordings into the machine's profile; leave out those of another machine"
    )
