"""``feltload profile``: recordings to a resistance profile and its report."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.app.jobs.measure import Measured


def profile(
    recordings: list[Path],
    /,
    *,
    out: Path,
    machine: Path | None = None,
    side: Literal["left", "right", "both"] | None = None,
    certificate: list[Path] | None = None,
    accept_expired: bool = False,
    latitude: str | None = None,
    height: str | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Estimate the resistance profile and write its report.

    Writes profile.csv, profile.json and report.html into the directory OUT. Recordings of two or more
    loads let other loads be predicted.

    Example: feltload profile row-20kg.mcap row-40kg.mcap --out row

    Example: feltload profile both-arms.mcap --side both --out row

    Example: feltload profile row-40kg.mcap --certificate cell.json --latitude "52 deg" --out row

    Parameters
    ----------
    recordings
        Recordings of one machine, one or more loads.
    out
        Directory for the result; made if it is not there.
    machine
        Machine file to use in place of the one kept in the recordings.
    side
        Arm to measure, when the recordings hold both. "both" writes OUT/left and OUT/right, compares the two and
        writes OUT/sides.json.
    certificate
        Calibration certificates (JSON) of the sensors, in place of those in the recordings, which are not
        changed; STREAM=FILE says for which sensor where that is not plain. May be repeated.
    accept_expired
        Use certificates past their expiry, after a field check with one known weight.
    latitude
        Where it was recorded, such as "52 deg", for gravity; kept with the result for `feltload check`.
    height
        Height of that place above sea level, such as "100 m".
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.files.inputs import place_gravity
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs import both_sides
    from feltload.app.jobs.measure import measure
    from feltload.app.pages.result_folder import ALL_FILES, write_result
    from feltload.core import write_file

    console = Console(common)
    gravity = place_gravity(latitude, height)
    both = side == "both"
    sides: dict[str | None, Path] = {name: out / name for name in both_sides.SIDES} if both else {side: out}
    for folder in sides.values():
        claim_directory(folder, ALL_FILES, overwrite=force_overwrite)
    if both:
        claim_directory(out, [both_sides.FILE_NAME], overwrite=force_overwrite)
    done: list[tuple[Measured, Path]] = []
    each = len(recordings) + 2
    with console.progress("Estimating the profile", total=each * len(sides)) as advance:
        for number, (one, folder) in enumerate(sides.items()):
            found = measure(
                recordings,
                machine_path=machine,
                side=one,
                both_sides=both,
                certificates=certificate or (),
                accept_expired=accept_expired,
                gravity=gravity,
                advance=_from(number * each, advance),
            )
            advance((number + 1) * each - 1)
            done.append((found, write_result(folder, found.estimate, found.provenance)))
    if not both:
        console.result(_told(console, *done[0]))
        return 0
    summaries = {}
    for name, result in zip(both_sides.SIDES, done, strict=True):
        console.say(f"{name} arm".capitalize())
        summaries[name] = _told(console, *result)
    lines, record = both_sides.compare(done[0][0].estimate, done[1][0].estimate)
    write_file(out / both_sides.FILE_NAME, json.dumps(record, indent=1, allow_nan=False) + "\n")
    console.say("Left against right")
    for line in lines:
        console.say(f"  {line}")
    console.result({**summaries, "sides": record})
    return 0


def _told(console: Console, found: Measured, report: Path) -> dict[str, object]:
    """Say what a result shows; the same for programs."""
    from feltload.app.text.inputs import describe_field_check
    from feltload.signal import profile_summary

    console.findings(found.estimate)
    for source in found.provenance.recordings:
        for check in source.field_checks:
            console.say(f"{describe_field_check(check)} ({source.name})")
    for remark in found.provenance.remarks:
        console.say(f"Note: {remark}")
    console.say(f"Report: {report}")
    stated = found.provenance.gravity
    return {
        **profile_summary(found.estimate),
        "gravity": None if stated is None else stated.model_dump(),
        "remarks": found.provenance.remarks,
        "report": str(report),
    }


def _from(begun: int, advance: Callable[[float], None]) -> Callable[[float], None]:
    """A part's progress as that of the whole."""
    return lambda done: advance(begun + done)
