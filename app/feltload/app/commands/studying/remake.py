"""``feltload remake``: a result made again from what its folder says, and compared."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def remake(
    result: Path,
    /,
    *,
    out: Path,
    recordings: Path = Path(),
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Make a result again, with the options, machine file and certificates that it keeps, and compare the two.

    Says whether every number is the same bit for bit, or which differ and by how much. Exit code 1 where they differ.

    Example: feltload remake row --recordings sessions --out row-again

    Parameters
    ----------
    result
        Directory that `feltload profile` wrote.
    out
        Directory for the result made again.
    recordings
        Folder that holds its recordings, which are found by their digests; left out, the current one.
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.measuring.remaking import compare_folders, remake_result
    from feltload.app.pages.result_folder import ALL_FILES, write_result

    console = Console(common)
    claim_directory(out, ALL_FILES, overwrite=force_overwrite)
    with console.progress("Making it again"):
        measurement = remake_result(result, recordings)
        report = write_result(out, measurement.estimate, measurement.provenance)
        found = compare_folders(result, out)
    for item in found:
        by = (
            "another shape" if item.relative is None else f"by up to {item.relative:.1g} of its largest value"
        )
        console.say(f"{item.name} differs: {by}")
    console.say("Every number is the same, bit for bit." if not found else f"Differences: {len(found)}")
    console.say(f"Report: {report}")
    console.result(
        {
            "same": not found,
            "differences": [{"name": item.name, "relative": item.relative} for item in found],
            "report": str(report),
        }
    )
    return 1 if found else 0
