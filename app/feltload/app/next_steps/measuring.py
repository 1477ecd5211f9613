"""What comes after the commands about sensors, machines and measured profiles."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from feltload.app.next_steps.step import Given, NextStep, target_of
from feltload.app.options import NOBODY, NOTHING_REPLACED, ReplacedFiles
from feltload.core import FeltloadError

ARMS = "arms.csv"
"""That a prediction has and a measured result has not."""


def _record(given: Given, outcome: int) -> NextStep:
    out, person = Path(given["out"]), given.get("person")
    if given.get("kind") == "holds":
        folder = None if person is None else person.client
        kept = () if folder is None else ("--client", folder)
        return NextStep(("client", "capacity", out, "--out", _capacity_file(out), *kept))
    if given.get("kind") == "helped":
        person = person or NOBODY
        plan = () if person.capacity is None else ("--capacity", person.capacity, *target_of(person.target))
        return NextStep(("client", "delivered", person.result or "RESULT", out, *plan))
    machine = () if given.get("machine") or "machine" not in given else ("--machine", "MACHINE.toml")
    return NextStep(
        ("profile", out, "--out", out.with_suffix(""), *machine),
        "or record a second load first and name both: then the arm's own weight is known apart from the load's",
    )


def _import(given: Given, outcome: int) -> NextStep:
    if given.get("readings") is None:
        return _record(given, outcome)
    return _profile({**given, "replaced": ReplacedFiles(machine=given["machine"])}, outcome)


def _doctor(given: Given, outcome: int) -> NextStep:
    if outcome:
        return NextStep(("doctor", "--folder", given["folder"]), "once what is marked with ! is put right")
    return NextStep(("devices", "--scan", "5 s"), "to see which sensors are in reach")


def _start(given: Given, outcome: int) -> NextStep:
    return NextStep(("doctor", "--folder", given["folder"]), "if a sensor that should be there was not found")


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


def _health(given: Given, outcome: int) -> NextStep:
    if not given.get("keep"):
        return NextStep(
            ("health", given["result"], "--keep"), "keeps it, to compare the next measurement with"
        )
    return NextStep(("profile", "NEXT.mcap", "--out", "NEXT"), "after the next measurement of this machine")


def _predict(given: Given, outcome: int) -> NextStep:
    machine = given["machines"][0]
    if given.get("out") is None:
        return NextStep(("predict", machine, "--out", f"{Path(machine).stem}-predicted"), "writes the page")
    return NextStep(("survey", machine), "which dimensions to know better")


def _new_machine(given: Given, outcome: int) -> NextStep:
    if outcome:
        return NextStep(("new", "machine", given["out"]), "goes on where you left")
    return NextStep(
        ("record", "RIG.toml", "--machine", given["out"], "--load", "20 kg", "--out", "NAME-20kg.mcap")
    )


def _profile(given: Given, outcome: int) -> NextStep:
    result = Path(given["out"]) / "left" if given.get("side") == "both" else Path(given["out"])
    machine = given.get("replaced", NOTHING_REPLACED).machine
    if _weights_missing(result):
        return NextStep(
            ("client", "positions", result),
            "to fit the machine to a person; to check the result, put the machine's weights into its file first",
        )
    return NextStep(("check", result, "--machine", machine or "MACHINE.toml"))


def _weights_missing(result: Path) -> bool:
    """Whether a result was made with a machine file that predicts no force: a check would refuse it."""
    from feltload.app.files.provenance import load_provenance
    from feltload.calibration import MachineError, parse_machine

    try:
        made_from = load_provenance(result)
        if made_from.machine_toml is None:
            return False
        loads = [source.load_kg for source in made_from.recordings]
        parse_machine(made_from.machine_toml).require_masses(loads)
    except MachineError:
        return True
    except FeltloadError:
        # No such result: what comes next does not hang on it.
        return False
    return False


def _report(given: Given, outcome: int) -> NextStep:
    if (Path(given["result"]) / ARMS).exists():
        return NextStep(("survey", "MACHINE.toml"), "which dimensions to know better")
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


def _capacity_file(recording: Path) -> Path:
    return recording.with_name(f"{recording.stem}-capacity.json")


AFTER_MEASURING: Mapping[tuple[str, ...], Callable[[Given, int], NextStep]] = {
    ("demo",): lambda given, _: NextStep(
        ("new", "machine", "MACHINE.toml"), "to measure a machine of your own"
    ),
    ("start",): _start,
    ("doctor",): _doctor,
    ("devices",): _devices,
    ("live",): lambda given, _: NextStep(
        ("start", "--folder", given["folder"]), "says what to do with what was measured"
    ),
    ("record",): _record,
    ("import",): _import,
    ("export",): _export,
    ("calibrate", "force"): _calibrate,
    ("calibrate", "keys"): _calibrate_keys,
    ("calibrate", "inertial"): _calibrate,
    ("profile",): _profile,
    ("report",): _report,
    ("check",): _check,
    ("compare",): _compare,
    ("study",): lambda given, _: NextStep(
        ("export", "RECORDING.mcap", "--out", "TABLES"), "for the signals behind a measurement"
    ),
    ("remake",): lambda given, _: NextStep(
        ("report", str(given["out"]), "--open"), "to see the result that was made again"
    ),
    ("batch",): lambda given, _: NextStep(
        ("study", "STUDY.toml", "--out", "STUDY"), "for how well repeated measurements agree"
    ),
    ("survey",): _survey,
    ("predict",): _predict,
    ("health",): _health,
    ("new", "machine"): _new_machine,
}
"""Command -> what comes after it."""
