"""The directory that a result is written into."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.files.provenance import FILE_NAME as PROVENANCE, PlaceGravity, Provenance
from feltload.calibration import Gravity, local_gravity
from feltload.core import write_file
from feltload.signal import CSV, JSON, MODEL, save_results

if TYPE_CHECKING:
    from feltload.app.pages.report.view import Verdict
    from feltload.calibration import Agreement, Machine, SwingCheck
    from feltload.signal import ProfileEstimate

REPORT = "report.html"
AGREEMENT = "agreement.json"
CHECK_REPORT = "check.html"
ALL_FILES = (CSV, JSON, MODEL, PROVENANCE, REPORT)


@dataclass(frozen=True)
class Checked:
    """Agreement with a machine file, how the report says it, and the gravity it was reckoned with."""

    agreement: Agreement
    verdict: Verdict
    machine: Machine
    gravity: PlaceGravity
    swing: SwingCheck | None = None


def with_gravity(provenance: Provenance, gravity: Gravity | None) -> Provenance:
    """The same inputs with the gravity that is stated now, where one is."""
    return (
        provenance if gravity is None else provenance.model_copy(update={"gravity": PlaceGravity.of(gravity)})
    )


def gravity_used(provenance: Provenance) -> PlaceGravity:
    """Gravity of the place; where none is stated, standard gravity, as uncertain as the place is unknown."""
    return provenance.gravity or PlaceGravity.of(local_gravity())


def check_against(
    directory: Path,
    estimate: ProfileEstimate,
    machine: Machine,
    gravity: PlaceGravity,
    swing: SwingCheck | None = None,
) -> Checked:
    """Hold a result against a machine file and write agreement.json into its directory."""
    # Slow to import, here and below: a wrong file name should not wait for them.
    from feltload.app.pages.report.agreement_view import verdict_view
    from feltload.calibration import check_agreement, write_agreement

    agreement = check_agreement(estimate, machine, gravity=gravity.gravity())
    write_agreement(directory, agreement, swing)
    return Checked(agreement, verdict_view(estimate, agreement, swing), machine, gravity, swing)


def write_result(
    directory: Path, estimate: ProfileEstimate, provenance: Provenance, checked: Checked | None = None
) -> Path:
    """Write a result and its report; whether they may be overwritten has been settled before.

    Returns
    -------
    Path
        The report.
    """
    save_results(directory, estimate, overwrite=True)
    provenance.save(directory)
    return _write_page(directory / REPORT, estimate, provenance, checked)


def write_check(directory: Path, estimate: ProfileEstimate, provenance: Provenance, checked: Checked) -> Path:
    """Write the report of a result held against a machine file, beside the result's own; return its path."""
    return _write_page(directory / CHECK_REPORT, estimate, provenance, checked)


def _write_page(
    path: Path, estimate: ProfileEstimate, provenance: Provenance, checked: Checked | None
) -> Path:
    from feltload.app.pages.page import render_page
    from feltload.app.pages.report.assemble import build_view
    from feltload.app.pages.report.machine_view import machine_drawing

    if checked is None:
        view = build_view(estimate, provenance)
    else:
        view = build_view(
            estimate,
            provenance.model_copy(update={"gravity": checked.gravity}),
            verdict=checked.verdict,
            machine_drawing=machine_drawing(estimate, checked.machine),
        )
    write_file(path, render_page(view))
    return path
