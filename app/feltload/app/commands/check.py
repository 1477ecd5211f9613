"""``feltload check``: a measured profile against a machine file."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

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
    swing: Path | None = None,
    side: Literal["left", "right"] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Compare a measured profile with the geometry in a machine file.

    Writes agreement.json and check.html beside the profile. Exit code 0: agrees; 1: differs, or too
    uncertain to tell; 2: error. With --swing the free swing of the unloaded arm is compared with the same file,
    without the load cell; 0 then means that both agree.

    Example: feltload check row --machine row.toml

    Example: feltload check row --machine row.toml --latitude "52 deg" --height "100 m"

    Example: feltload check row --machine row.toml --swing row-swing.mcap

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
    swing
        Recording of the unloaded arm swinging freely, unhooked from the handle, begun when it swings already. Keep
        clear of the arm's path.
    side
        Arm that swings, when that recording holds both.
    force_overwrite
        Replace an agreement that is there already.
    """
    from feltload.app.files.inputs import place_gravity
    from feltload.app.files.outputs import claim_directory
    from feltload.app.files.provenance import load_provenance
    from feltload.app.jobs.free_swing import check_swing_recording
    from feltload.app.pages.result_folder import (
        AGREEMENT,
        CHECK_REPORT,
        check_against,
        gravity_used,
        with_gravity,
        write_check,
    )
    from feltload.app.text.agreement import agreement_text, swing_text
    from feltload.app.text.inputs import describe_gravity
    from feltload.calibration import AgreementVerdict, explanation_record, load_machine, swing_record
    from feltload.signal import load_results

    console = Console(common)
    place = place_gravity(latitude, height)
    estimate = load_results(result)
    provenance = with_gravity(load_provenance(result), place)
    surveyed = load_machine(machine)
    gravity = gravity_used(provenance)
    swung = None if swing is None else check_swing_recording(swing, surveyed, gravity.gravity(), side=side)
    claim_directory(result, (AGREEMENT, CHECK_REPORT), overwrite=force_overwrite)
    with console.progress("Comparing with the machine file"):
        checked = check_against(result, estimate, surveyed, gravity, swung)
        page = write_check(result, estimate, provenance, checked)
    agreement = checked.agreement
    console.say(f"{agreement.verdict}: {agreement_text(agreement)}")
    if swung is not None:
        console.say(f"free swing {'agrees' if swung.agrees else 'differs'}: {swing_text(swung)}")
    console.say(f"Gravity: {describe_gravity(checked.gravity)}")
    console.say(f"Report: {page}")
    console.result(
        {
            "verdict": str(agreement.verdict),
            "en_max": agreement.en_max,
            "changed": [key.dotted for key in agreement.changed],
            "explanation": explanation_record(agreement),
            "free_swing": None if swung is None else swing_record(swung),
            "gravity": checked.gravity.model_dump(),
            "report": str(page),
        }
    )
    agrees = agreement.verdict is AgreementVerdict.AGREES and (swung is None or swung.agrees)
    return EXIT_AGREES if agrees else EXIT_NOT_SHOWN
