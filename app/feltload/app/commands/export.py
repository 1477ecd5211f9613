"""``feltload export``: a recording as tables or motion-capture file for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NO_LABELS, BidsLabels, CommonOptions

if TYPE_CHECKING:
    from feltload.acquisition import Recording
    from feltload.signal import JoinedTable


def export(
    recording: Path,
    /,
    *,
    out: Path,
    format: Literal["csv", "parquet", "c3d", "bids"] = "csv",
    side: Literal["left", "right"] | None = None,
    rate: float = 100.0,
    rig: Path | None = None,
    certificate: list[Path] | None = None,
    labels: BidsLabels = NO_LABELS,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Write a recording for pandas, R, MATLAB or motion-capture software.

    csv and parquet: joined.csv with force and lever motion on one clock, repetitions and phases; one table per sensor
    as it was sampled, in SI units; marks.csv; recording.json with rig, machine, certificates, health and what each
    clock means. c3d: the joined force and motion as analog channels, with events. bids: the same added to a dataset in
    the layout of BIDS, motion.tsv with its JSON, channels and events. Where a sensor was silent the joined values are
    missing.

    Example: feltload export row-40kg.mcap --out row-40kg-csv

    Example: feltload export row-40kg.mcap --out row-40kg-csv --format parquet --rate 200

    Example: feltload export row-40kg.mcap --out dataset --format bids --subject rowA --session 1 --run 1

    Parameters
    ----------
    recording
        Recording to read; it is not changed.
    out
        Directory for the files, or of the BIDS dataset; made if it is not there.
    format
        Parquet needs the extra feltload[parquet], c3d the extra feltload[c3d].
    side
        Arm to write as c3d or bids, when the recording holds both.
    rate
        Rows per second of the joined table, 10 to 2000.
    rig
        Rig file to use in place of the sensors' description kept in the recording.
    certificate
        Calibration certificates of the sensors, in place of those in the recording; STREAM=FILE as in profile.
    force_overwrite
        Replace files that are there already.
    """
    from feltload.app.files.outputs import claim_directory
    from feltload.app.files.recordings import open_recording, read_certificates
    from feltload.app.jobs.exporting.joined import export_tables, joined_names, joined_of, joined_tables
    from feltload.app.text.facts import describe_all
    from feltload.signal import SignalError

    console = Console(common)
    with console.progress("Reading"):
        read = open_recording(recording, rig=rig, certificates=read_certificates(certificate or ()))
    names = _motion_files(recording, format, labels) or joined_names(read, format)
    claim_directory(out, names, overwrite=force_overwrite, make=False)
    private = read.info.is_about_a_person
    with console.progress(f"Joining the clocks, writing {format}"):
        if format == "c3d" or format == "bids":
            joined = joined_of(read, side=side, rate_hz=rate)
            tables, missing = {recording.stem: joined}, dict[str, SignalError]()
            claim_directory(out, (), overwrite=force_overwrite, private=private)
            paths = _write_motion(recording, read, joined, out, format, labels, force_overwrite)
        else:
            tables, missing = joined_tables(read, rate_hz=rate)
            claim_directory(out, (), overwrite=force_overwrite, private=private)
            paths = export_tables(read, out, tables, format=format, overwrite=force_overwrite)
    if read.damage:
        console.note(f"Note: {recording}: {describe_all(read.damage)}")
    for name, error in missing.items():
        console.note(f"Note: no table {name}: {error}")
    for table in tables.values():
        console.facts(table.facts)
    for path in paths:
        console.say(str(path))
    console.result(
        {
            "files": [str(path) for path in paths],
            "damage": [fact.to_dict() for fact in read.damage],
            "missing": {name: error.what for name, error in missing.items()},
        }
    )
    return 0


def _motion_files(recording: Path, format: str, labels: BidsLabels) -> list[str]:
    """Files that one arm's motion is written into; none for tables."""
    from feltload.app.jobs.exporting.bids import bids_names, files_in_dataset

    if format == "bids":
        return files_in_dataset(bids_names(labels))
    return [f"{recording.stem}.c3d"] if format == "c3d" else []


def _write_motion(
    recording: Path,
    read: Recording,
    joined: JoinedTable,
    out: Path,
    format: str,
    labels: BidsLabels,
    overwrite: bool,
) -> list[Path]:
    from feltload.app.jobs.exporting.bids import add_to_bids, bids_names
    from feltload.app.jobs.exporting.joined import write_motion

    if format == "bids":
        return add_to_bids(read, joined, out, bids_names(labels), overwrite=overwrite)
    return [write_motion(read, joined, out / f"{recording.stem}.c3d", overwrite=overwrite)]
