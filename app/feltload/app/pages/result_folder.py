"""The directory that a result is written into, with its page."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.files.provenance import FILE_NAME as PROVENANCE, Provenance
from feltload.core import replacing, write_file
from feltload.signal import CSV, JSON, MODEL, save_results

if TYPE_CHECKING:
    from feltload.app.jobs.machine_check import MachineCheck
    from feltload.app.pages.report.view import ReportView
    from feltload.calibration import Judgement
    from feltload.signal import ProfileEstimate

REPORT = "report.html"
AGREEMENT = "agreement.json"
CHECK_REPORT = "check.html"
ALL_FILES = (CSV, JSON, MODEL, PROVENANCE, REPORT)


def write_result(
    directory: Path,
    estimate: ProfileEstimate,
    provenance: Provenance,
    check: MachineCheck | None = None,
    *,
    view: ReportView | None = None,
    judgements: Sequence[Judgement] = (),
) -> Path:
    """Write a result and its report, and the targets that it was compared with.

    Whether they may be overwritten has been settled before.

    Parameters
    ----------
    directory : Path
    estimate : ProfileEstimate
    provenance : Provenance
    check : MachineCheck, optional
        Against the machine file; its agreement is written as well.
    view : ReportView, optional
        What the report says, where `result_view` has worked it out already.
    judgements : sequence of Judgement
        Of targets.

    Returns
    -------
    Path
        The report.
    """
    from feltload.app.pages.page import render_page

    page = render_page(view or result_view(estimate, provenance, check, judgements=judgements))
    directory.mkdir(parents=True, exist_ok=True)
    # The page has its room on the disk before the results take their places.
    with replacing(directory / REPORT) as part:
        part.write_text(page, "utf-8", newline="")
        save_results(directory, estimate, overwrite=True)
        provenance.save(directory)
        if check is not None:
            _write_agreement(directory, check)
        if judgements:
            from feltload.app.jobs.predicting.targets import write_targets

            write_targets(directory, judgements, estimate.travel)
    return directory / REPORT


def write_check(directory: Path, check: MachineCheck) -> Path:
    """Write agreement.json and the page of the comparison beside the result; return the page's path."""
    page = check_page(check)
    _write_agreement(directory, check)
    write_file(directory / CHECK_REPORT, page)
    return directory / CHECK_REPORT


def result_page(
    estimate: ProfileEstimate, provenance: Provenance, judgements: Sequence[Judgement] = ()
) -> str:
    """The report of a result, as HTML."""
    # Slow to import, here and below: a wrong file name should not wait for them.
    from feltload.app.pages.page import render_page

    return render_page(result_view(estimate, provenance, judgements=judgements))


def check_page(check: MachineCheck) -> str:
    """The report of a result compared with a machine file, as HTML."""
    from feltload.app.pages.page import render_page

    return render_page(result_view(check.estimate, check.provenance, check))


def result_view(
    estimate: ProfileEstimate,
    provenance: Provenance,
    check: MachineCheck | None = None,
    *,
    judgements: Sequence[Judgement] = (),
) -> ReportView:
    """What the report of a result says, compared with a machine file where there is a `check`, and with targets."""
    from feltload.app.pages.report.agreement_view import verdict_view
    from feltload.app.pages.report.assemble import build_view
    from feltload.app.pages.report.machine_view import machine_drawing
    from feltload.calibration import parse_machine

    if check is not None:
        return build_view(
            check.estimate,
            check.provenance,
            verdict=verdict_view(check.estimate, check.agreement, check.swing),
            machine_drawing=machine_drawing(check.estimate, check.machine),
            judgements=judgements,
            remarks=check.remarks,
        )
    text = provenance.machine_toml
    drawing = None if text is None else machine_drawing(estimate, parse_machine(text, "machine.toml"))
    return build_view(estimate, provenance, machine_drawing=drawing, judgements=judgements)


def _write_agreement(directory: Path, check: MachineCheck) -> None:
    from feltload.calibration import write_agreement

    write_agreement(directory, check.agreement, check.swing)
