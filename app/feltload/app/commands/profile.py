"""``feltload profile``: recordings to a resistance profile and its report."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def profile(
    recordings: list[Path],
    /,
    *,
    out: Path,
    machine: Path | None = None,
    side: Literal["left", "right"] | None = None,
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
        Arm to measure, when the recordings hold both.
    certificate
        Calibration certificates (JSON) of the sensors, in place of those in the recordings, which are not
        changed. May be repeated.
    accept_expired
        Use certificates past their expiry, after a field check with one known weight.
    latitude
        Where it was recorded, such as "52 deg", for gravity; kept with the result for `feltload check`.
    height
        Height of that place above sea level, such as "100 m".
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.inputs import place_gravity
    from feltload.app.measure import measure
    from feltload.app.outputs import claim_directory
    from feltload.app.result_folder import ALL_FILES, write_result
    from feltload.signal.results import profile_summary

    console = Console(common)
    gravity = place_gravity(latitude, height)
    claim_directory(out, ALL_FILES, overwrite=force_overwrite)
    with console.progress("Estimating the profile", total=len(recordings) + 2) as advance:
        measured = measure(
            recordings,
            machine_path=machine,
            side=side,
            certificates=certificate or (),
            accept_expired=accept_expired,
            gravity=gravity,
            advance=advance,
        )
        advance(len(recordings) + 1)
        report = write_result(out, measured.estimate, measured.provenance)
    console.findings(measured.estimate)
    for remark in measured.provenance.remarks:
        console.say(f"Note: {remark}")
    console.say(f"Report: {report}")
    stated = measured.provenance.gravity
    console.result(
        {
            **profile_summary(measured.estimate),
            "gravity": None if stated is None else stated.model_dump(),
            "remarks": measured.provenance.remarks,
            "report": str(report),
        }
    )
    return 0
