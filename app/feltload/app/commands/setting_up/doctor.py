"""``feltload doctor``: whether this computer can measure."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

EXIT_READY = 0
EXIT_HINDERED = 1


def doctor(
    *,
    folder: Path = Path(),
    scan: str = "2 s",
    bluetooth: bool = True,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Examine this computer: Bluetooth, serial ports, permissions, disk, clock, libraries, browser.

    Every fault has its remedy on the same line. Exit code 0: nothing stops a measurement; 1: something does, marked
    with an exclamation mark; 2: error.

    Example: feltload doctor

    Example: feltload doctor --folder recordings --json

    Parameters
    ----------
    folder
        Where recordings are to be written.
    scan
        How long to scan for Bluetooth LE peripherals.
    bluetooth
        Scan at all; --bluetooth=false leaves it out.
    """
    from feltload.app.doctor.examination import examine
    from feltload.app.errors import UsageError
    from feltload.app.text.facts import describe
    from feltload.core import Severity, parse_quantity

    console = Console(common)
    seconds = parse_quantity(scan, "time", where="--scan").value
    if not folder.is_dir():
        raise UsageError("is no folder", where=str(folder), remedy="name one that is there with --folder")
    marks = {Severity.NOTE: "ok", Severity.CAUTION: "?", Severity.SERIOUS: "!"}
    parts = []
    with console.progress("Examining this computer"):
        parts = list(examine(folder, scan_s=seconds, bluetooth=bluetooth))
    for part in parts:
        for fact in part.facts:
            console.say(f"{marks[fact.severity]:<2}  {part.part}: {describe(fact)}")
    hindered = any(part.severity is Severity.SERIOUS for part in parts)
    console.result(
        {
            "ready": not hindered,
            "parts": {part.part: [fact.to_dict() for fact in part.facts] for part in parts},
        }
    )
    return EXIT_HINDERED if hindered else EXIT_READY
