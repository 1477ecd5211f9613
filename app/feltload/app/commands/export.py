"""``feltload export``: a recording as tables or motion-capture file for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def export(
    recording: Path,
    /,
    *,
    out: Path,
    format: Literal["csv", "parquet", "c3d"] = "csv",
    side: Literal["left", "right"] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Write a recording for pandas, R, MATLAB or motion-capture software.

    csv and parquet: one table per sensor as it was sampled, in SI units, with marks and health. c3d: tared
    force and lever angle on one clock as analog channels.

    Example: feltload export row-40kg.mcap --out row-40kg-csv

    Parameters
    ----------
    recording
        Recording to read; it is not changed.
    out
        Directory for the files; made if it is not there.
    format
        Parquet needs the extra feltload[parquet], c3d the extra feltload[c3d].
    side
        Arm to write as c3d, when the recording holds both.
    force_overwrite
        Replace files that are there already.
    """
    from feltload.acquisition import export_recording, read_recording
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.motion_export import export_motion
    from feltload.app.text.facts import describe_all

    console = Console(common)
    with console.progress("Reading"):
        read = read_recording(recording)
    claim_directory(out, (), overwrite=force_overwrite, private=read.info.is_about_a_person)
    with console.progress(f"Writing {format}"):
        if format == "c3d":
            paths = [export_motion(read, out / f"{recording.stem}.c3d", side=side, overwrite=force_overwrite)]
        else:
            paths = export_recording(read, out, format=format, overwrite=force_overwrite)
    if read.damage:
        console.note(f"Note: {recording}: {describe_all(read.damage)}")
    for path in paths:
        console.say(str(path))
    console.result(
        {"files": [str(path) for path in paths], "damage": [fact.to_dict() for fact in read.damage]}
    )
    return 0
