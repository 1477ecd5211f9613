"""What comes after the commands about a client."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from feltload.app.next_steps.step import Given, NextStep, target_of


def _positions(given: Given, outcome: int) -> NextStep:
    words = ("record", "RIG.toml", "--kind", "holds", "--result", given["profile"])
    return NextStep((*words, "--machine", "MACHINE.toml", "--load", "LOAD", "--out", "holds.mcap"))


def _capacity(given: Given, outcome: int) -> NextStep:
    return NextStep(("client", "match", "RESULT", given["out"], "--load", "LOAD"))


def _sides(given: Given, outcome: int) -> NextStep:
    return NextStep(
        ("client", "match", "RESULT", given["left"], "--load", "LOAD"), "and the same with the right one"
    )


def _match(given: Given, outcome: int) -> NextStep:
    return NextStep(("client", "plan", *_of_person(given), *_ends(given)))


def _plan(given: Given, outcome: int) -> NextStep:
    plan = ("--capacity", given["capacity"], *target_of(given["target"]))
    words = ("record", "RIG.toml", "--kind", "helped", "--result", given["profile"], *plan)
    return NextStep((*words, "--machine", "MACHINE.toml", *_load(given), "--out", "helped.mcap"))


def _limit(given: Given, outcome: int) -> NextStep:
    return NextStep(("client", "match", given["profile"], _capacity_of(given), "--load", "LOAD"))


def _sheet_of(given: Given, outcome: int) -> NextStep:
    return NextStep(("client", "sheet", *_of_person(given), *_ends(given), "--out", "sheet.html"))


def _effort(given: Given, outcome: int) -> NextStep:
    return NextStep(
        ("client", "sheet", given["profile"], _capacity_of(given), "--load", "LOAD", "--out", "sheet.html")
    )


def _delivered(given: Given, outcome: int) -> NextStep:
    words = ("client", "sheet", given["profile"], _capacity_of(given), "--session", given["recording"])
    return NextStep((*words, *target_of(given.get("target")), "--out", "sheet.html"))


def _sheet(given: Given, outcome: int) -> NextStep:
    folder = getattr(given.get("pain"), "client", None)
    if folder is not None:
        return NextStep(("client", "history", folder))
    return NextStep(("client", "new", "clients"), "to keep this client's results over time")


def _new(given: Given, outcome: int) -> NextStep:
    folder = Path(given["parent"]) / (given.get("code") or "CODE")
    return NextStep(("client", "capacity", "HOLDS.mcap", "--out", "capacity.json", "--client", folder))


def _pain(given: Given, outcome: int) -> NextStep:
    result = given.get("result") or "RESULT"
    return NextStep(
        ("client", "positions", result, "--client", given["folder"]), "to hold where it does not hurt"
    )


def _history(given: Given, outcome: int) -> NextStep:
    words = ("client", "capacity", "HOLDS.mcap", "--out", "capacity.json", "--client", given["folder"])
    return NextStep(words, "after the next session of holds")


def _delete(given: Given, outcome: int) -> NextStep:
    return NextStep(("client", "new", Path(given["folder"]).parent))


def _of_person(given: Given) -> tuple[str | Path, ...]:
    return (given["profile"], given["capacity"], *_load(given))


def _capacity_of(given: Given) -> str | Path:
    return given.get("capacity") or "CAPACITY.json"


def _ends(given: Given) -> tuple[str, ...]:
    ends = given.get("ends")
    if ends is None:
        return ()
    named = (("--start", ends.start), ("--stop", ends.stop))
    return tuple(word for option, at in named if at is not None for word in (option, at))


def _load(given: Given) -> tuple[str, ...]:
    return ("--load", given.get("load") or "LOAD")


AFTER_CLIENT: Mapping[tuple[str, ...], Callable[[Given, int], NextStep]] = {
    ("client", "positions"): _positions,
    ("client", "capacity"): _capacity,
    ("client", "sides"): _sides,
    ("client", "match"): _match,
    ("client", "plan"): _plan,
    ("client", "limit"): _limit,
    ("client", "what-if"): _sheet_of,
    ("client", "effort"): _effort,
    ("client", "delivered"): _delivered,
    ("client", "sheet"): _sheet,
    ("client", "new"): _new,
    ("client", "pain"): _pain,
    ("client", "history"): _history,
    ("client", "delete"): _delete,
}
"""Command -> what comes after it."""
