"""The command that comes after each command, with the names of the files at hand filled in.

What a command does not know stands in capitals: RIG.toml, MACHINE.toml, RESULT, CAPACITY.json.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from feltload.app.options import NOBODY, NOTHING_REPLACED

Given = Mapping[str, Any]
"""Values of the command's parameters by name, defaults included."""

KEEP_PAIN = ("client", "record")
"""Commands that take painful ranges ..."""

FOLDER_ONLY = (
    ("client", "new"),
    ("client", "history"),
    ("client", "delete"),
    ("client", "sides"),
    ("client", "pain"),
)
"""... and those among them that do not."""


@dataclass(frozen=True)
class NextStep:
    """One command to go on with.

    Attributes
    ----------
    words : tuple of str or Path
        After ``feltload``.
    why : str
        What it is for, where the command alone does not say.
    """

    words: tuple[str | Path, ...]
    why: str = ""

    @property
    def command(self) -> str:
        """As it is typed."""
        return shlex.join(["feltload", *map(str, self.words)])


def next_step(chain: tuple[str, ...], given: Given, outcome: int) -> NextStep | None:
    """What comes after a command.

    Parameters
    ----------
    chain : tuple of str
        Its words, such as ``("client", "match")``.
    given : mapping
        Values of its parameters.
    outcome : int
        Its exit code.
    """
    after = AFTER.get(chain)
    return None if after is None else _with_pain(after(given, outcome), given)


def _with_pain(step: NextStep, given: Given) -> NextStep:
    """The step with the painful ranges that this command was told: a mark is never lost on the way to the next."""
    about = given.get("pain") or given.get("person")
    if about is None or step.words[0] not in KEEP_PAIN or step.words[:2] in FOLDER_ONLY:
        return step
    marks: list[str | Path] = [word for range_ in about.painful or () for word in ("--painful", range_)]
    if about.client is not None and "--client" not in step.words:
        marks += ["--client", about.client]
    return replace(step, words=(*step.words, *marks))


def _percent(share: float) -> str:
    return f"{100.0 * share:g} %"


def _record(given: Given, outcome: int) -> NextStep:
    out, person = Path(given["out"]), given.get("person")
    if given.get("kind") == "holds":
        folder = None if person is None else person.client
        kept = () if folder is None else ("--client", folder)
        return NextStep(("client", "capacity", out, "--out", _capacity_file(out), *kept))
    if given.get("kind") == "helped":
        person = person or NOBODY
        plan = (
            ()
            if person.capacity is None
            else ("--capacity", person.capacity, "--target", _percent(person.target))
        )
        return NextStep(("client", "delivered", person.result or "RESULT", out, *plan))
    machine = () if given.get("machine") or "machine" not in given else ("--machine", "MACHINE.toml")
    return NextStep(
        ("profile", out, "--out", out.with_suffix(""), *machine),
        "or record a second load first and name both: then the arm's own weight is known apart from the load's",
    )


def _doctor(given: Given, outcome: int) -> NextStep:
    if outcome:
        return NextStep(("doctor", "--folder", given["folder"]), "once what is marked with ! is put right")
    return NextStep(("devices", "--scan", "5 s"), "to see which sensors are in reach")


def _devices(given: Given, outcome: int) -> NextStep:
    written = given.get("write")
    rig = "RIG.toml" if written is None else str(written)
    return NextStep(
        ("record", rig, "--machine", "MACHINE.toml", "--load", "20 kg", "--out", "NAME-20kg.mcap"),
        "once the rig file names them" if written is None else "once what is still to say is in the rig file",
    )


def _export(given: Given, outcome: int) -> NextStep:
    recording = Path(given["recording"])
    return NextStep(("profile", recording, "--out", recording.with_suffix("")))


def _calibrate(given: Given, outcome: int) -> NextStep:
    words = ("record", "RIG.toml", "--machine", "MACHINE.toml", "--load", "20 kg")
    return NextStep((*words, "--certificate", given["out"], "--out", "NAME-20kg.mcap"))


def _calibrate_keys(given: Given, outcome: int) -> NextStep:
    key = given.get("path") or "LAB.key"
    return NextStep(("calibrate", "force", "READINGS.csv", "--sign", key, "--out", "CELL.json"))


def _survey(given: Given, outcome: int) -> NextStep:
    start = given.get("start")
    if start is not None:
        return NextStep(("survey", start), "once it is filled in")
    machine = given["machine"] if Path(given["machine"]).suffix else "MACHINE.toml"
    if machine == "MACHINE.toml":
        return NextStep(("survey", given["machine"], "--start", machine))
    out = f"{Path(machine).stem}-20kg.mcap"
    return NextStep(("record", "RIG.toml", "--machine", machine, "--load", "20 kg", "--out", out))


def _profile(given: Given, outcome: int) -> NextStep:
    result = Path(given["out"]) / "left" if given.get("side") == "both" else given["out"]
    machine = given.get("replaced", NOTHING_REPLACED).machine
    return NextStep(("check", result, "--machine", machine or "MACHINE.toml"))


def _report(given: Given, outcome: int) -> NextStep:
    return NextStep(("check", given["result"], "--machine", "MACHINE.toml"))


def _check(given: Given, outcome: int) -> NextStep:
    if outcome:
        return NextStep(
            ("survey", given["machine"]), "once the plates are checked: measure again what matters most"
        )
    return NextStep(("client", "positions", given["result"]), "to fit the machine to a person")


def _compare(given: Given, outcome: int) -> NextStep:
    results = list(given["results"])
    if given.get("out") is None:
        return NextStep(("compare", *results, "--out", "compared.html"), "for a page with the curves")
    return NextStep(("client", "positions", results[0]), "to fit a machine to a person")


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
    return NextStep(("client", "plan", *_of_person(given), "--target", "70 %", *_ends(given)))


def _plan(given: Given, outcome: int) -> NextStep:
    plan = ("--capacity", given["capacity"], "--target", _percent(given["target"]))
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
    return NextStep((*words, "--out", "sheet.html"))


def _sheet(given: Given, outcome: int) -> NextStep:
    folder = getattr(given.get("pain"), "client", None)
    if folder is not None:
        return NextStep(("client", "history", folder))
    return NextStep(("client", "new", "clients"), "to keep this client's results over time")


def _new_machine(given: Given, outcome: int) -> NextStep:
    if outcome:
        return NextStep(("new", "machine", given["out"]), "goes on where you left")
    return NextStep(
        ("record", "RIG.toml", "--machine", given["out"], "--load", "20 kg", "--out", "NAME-20kg.mcap")
    )


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


AFTER: Mapping[tuple[str, ...], Callable[[Given, int], NextStep]] = {
    ("demo",): lambda given, _: NextStep(
        ("new", "machine", "MACHINE.toml"), "to measure a machine of your own"
    ),
    ("doctor",): _doctor,
    ("devices",): _devices,
    ("record",): _record,
    ("import",): _record,
    ("export",): _export,
    ("calibrate", "force"): _calibrate,
    ("calibrate", "keys"): _calibrate_keys,
    ("calibrate", "inertial"): _calibrate,
    ("profile",): _profile,
    ("report",): _report,
    ("check",): _check,
    ("compare",): _compare,
    ("survey",): _survey,
    ("new", "machine"): _new_machine,
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
"""Command -> what comes after it; a test finds a command without."""


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


def _capacity_file(recording: Path) -> Path:
    return recording.with_name(f"{recording.stem}-capacity.json")
