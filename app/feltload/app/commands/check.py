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
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Hold a measured profile against the geometry in a machine file.

    Writes agreement.json and check.html beside the profile. Exit code 0: agrees; 1: differs, or too
    uncertain to tell; 2: error.

    Example: feltload check row --machine row.toml

    Parameters
    ----------
    result
        Directory that `feltload profile` wrote.
    machine
        Machine file with the surveyed geometry.
    force_overwrite
        Replace an agreement that is there already.
    """
    from feltload.app.outputs import claim_directory, write_text
    from feltload.app.provenance import load_provenance
    from feltload.app.report.assemble import build_view
    from feltload.app.report.page import render_page
    from feltload.app.result_folder import AGREEMENT, CHECK_REPORT, check_against
    from feltload.calibration.machine import load_machine
    from feltload.signal.results import load_results

    console = Console(common)
    estimate = load_results(result)
    provenance = load_provenance(result)
    surveyed = load_machine(machine)
    claim_directory(result, (AGREEMENT, CHECK_REPORT), overwrite=force_overwrite)
    with console.progress("Comparing with the machine file"):
        checked = check_against(result, estimate, surveyed)
        page = result / CHECK_REPORT
        write_text(page, render_page(build_view(estimate, provenance, verdict=checked.verdict)))
    agreement = checked.agreement
    console.say(f"{agreement.verdict}: {agreement.explanation}")
    console.say(f"Report: {page}")
    console.result(
        {
            "verdict": agreement.verdict,
            "en_max": agreement.en_max,
            "changed": list(agreement.changed),
            "explanation": agreement.explanation,
            "report": str(page),
        }
    )
    return EXIT_AGREES if agreement.verdict == "agrees" else EXIT_NOT_SHOWN
