"""``feltload check``: a measured profile against a machine file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.app.jobs.machine_check import MachineCheck

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
    uncertain to decide; 2: error. With --swing the free swing of the unloaded arm is compared with the same file,
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
        Where it was recorded, such as "52 deg", for gravity; in place of what `feltload profile` was given.
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
    from feltload.app.jobs.machine_check import check_result
    from feltload.app.pages.result_folder import AGREEMENT, CHECK_REPORT, write_check
    from feltload.app.text.inputs import describe_gravity
    from feltload.app.text.machine.agreement import agreement_text, describe_score, swing_text
    from feltload.calibration import AgreementFact

    console = Console(common)
    place = place_gravity(latitude, height)
    claim_directory(result, (AGREEMENT, CHECK_REPORT), overwrite=force_overwrite, make=False)
    with console.progress("Comparing with the machine file"):
        check = check_result(result, machine, place=place, swing_path=swing, side=side)
        page = write_check(result, check)
    agreement = check.agreement
    console.doubts(check.estimate, without=AgreementFact)
    console.facts(check.remarks)
    console.say(f"{agreement.verdict}: {agreement_text(agreement)}")
    console.say(describe_score(agreement))
    if check.swing is not None:
        console.say(f"free swing {'agrees' if check.swing.agrees else 'differs'}: {swing_text(check.swing)}")
    console.say(f"Gravity: {describe_gravity(check.gravity)}")
    console.say(f"Report: {page}")
    console.result({**_record(check), "report": str(page)})
    return EXIT_AGREES if check.agrees else EXIT_NOT_SHOWN


def _record(check: MachineCheck) -> dict[str, object]:
    from feltload.calibration import agreement_facts, explanation_record, swing_record

    agreement, swing = check.agreement, check.swing
    return {
        "verdict": str(agreement.verdict),
        "en_max": agreement.en_max,
        "facts": [fact.to_dict() for fact in (*check.remarks, *agreement_facts(agreement))],
        "changed": [key.dotted for key in agreement.changed],
        "explanation": explanation_record(agreement),
        "free_swing": None if swing is None else swing_record(swing),
        "gravity": check.gravity.model_dump(),
    }
