"""``feltload check``: a measured profile against a machine file."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

EXIT_AGREES = 0
EXIT_NOT_SHOWN = 1


def check(
    result: Path,
    /,
    *,
    machine: Path,
    latitude: str | None = None,
    height: str | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Hold a measured profile against the geometry in a machine file.

    Writes agreement.json and check.html beside the profile. Exit code 0: agrees; 1: differs, or too
    uncertain to tell; 2: error.

    Example: feltload check row --machine row.toml

    Example: feltload check row --machine row.toml --latitude "52 deg" --height "100 m"

    Parameters
    ----------
    result
        Directory that `feltload profile` wrote.
    machine
        Machine file with the surveyed geometry.
    latitude
        Where it was recorded, such as "52 deg", for gravity; in place of what `feltload profile` was told.
    height
        Height of that place above sea level, such as "100 m".
    force_overwrite
        Replace an agreement that is there already.
    """
    from feltload.app.inputs import place_gravity
    from feltload.app.outputs import claim_directory
    from feltload.app.provenance import load_provenance
    from feltload.app.result_folder import AGREEMENT, CHECK_REPORT, check_against, with_gravity, write_check
    from feltload.calibration.machine import load_machine
    from feltload.signal.results import load_results

    console = Console(common)
    place = place_gravity(latitude, height)
    estimate = load_results(result)
    provenance = with_gravity(load_provenance(result), place)
    surveyed = load_machine(machine)
    claim_directory(result, (AGREEMENT, CHECK_REPORT), overwrite=force_overwrite)
    with console.progress("Comparing with the machine file"):
        checked = check_against(result, estimate, surveyed, provenance.gravity)
        page = write_check(result, estimate, provenance, checked)
    agreement = checked.agreement
    console.say(f"{agreement.verdict}: {agreement.explanation}")
    console.say(f"Gravity: {checked.gravity.words()}")
    console.say(f"Report: {page}")
    console.result(
        {
            "verdict": agreement.verdict,
            "en_max": agreement.en_max,
            "changed": list(agreement.changed),
            "explanation": agreement.explanation,
            "gravity": checked.gravity.model_dump(),
            "report": str(page),
        }
    )
    return EXIT_AGREES if agreement.verdict == "agrees" else EXIT_NOT_SHOWN
