"""The directory that a result is written into."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.outputs import write_text
from feltload.app.provenance import FILE_NAME as PROVENANCE
from feltload.app.provenance import Provenance
from feltload.signal.results import CSV, JSON, MODEL, save_results

if TYPE_CHECKING:
    from feltload.app.report.view import Verdict
    from feltload.calibration.agreement import Agreement
    from feltload.calibration.machine import Machine
    from feltload.signal.profile import ProfileEstimate

REPORT = "report.html"
AGREEMENT = "agreement.json"
CHECK_REPORT = "check.html"
ALL_FILES = (CSV, JSON, MODEL, PROVENANCE, REPORT)


@dataclass(frozen=True)
class Checked:
    """Agreement with a machine file, and how the report says it."""

    agreement: Agreement
    verdict: Verdict


def check_against(directory: Path, estimate: ProfileEstimate, machine: Machine) -> Checked:
    """Hold a result against a machine file and write agreement.json into its directory."""
    # Slow to import, here and below: a wrong file name should not wait for them.
    from feltload.app.report.agreement_view import verdict_view
    from feltload.calibration.agreement import check_agreement, write_agreement

    agreement = check_agreement(estimate, machine)
    write_agreement(directory, agreement)
    return Checked(agreement, verdict_view(estimate, agreement))


def write_result(
    directory: Path, estimate: ProfileEstimate, provenance: Provenance, checked: Checked | None = None
) -> Path:
    """Write a result and its report; whether they may be overwritten has been settled before.

    Returns
    -------
    Path
        The report.
    """
    from feltload.app.report.assemble import build_view
    from feltload.app.report.page import render_page

    save_results(directory, estimate, overwrite=True)
    provenance.save(directory)
    report = directory / REPORT
    verdict = None if checked is None else checked.verdict
    write_text(report, render_page(build_view(estimate, provenance, verdict=verdict)))
    return report
