"""A measured machine to a result folder, as ``feltload profile`` writes it, and such a folder opened again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.setup.folder import WorkingFolder

if TYPE_CHECKING:
    from feltload.app.files.provenance import Provenance
    from feltload.app.jobs.machine_check import MachineCheck
    from feltload.app.jobs.measuring.measurement import Measurement
    from feltload.app.pages.report.view import ReportView
    from feltload.calibration import Machine
    from feltload.signal import ProfileEstimate


def write_measured(folder: WorkingFolder, measured: Measurement, name: str) -> Outcome:
    """Write the result of a measurement beside its recordings."""
    from feltload.app.pages.result_folder import result_view, write_result

    check = _checked(measured.estimate, measured.provenance, measured.machine)
    view = result_view(measured.estimate, measured.provenance, check)
    directory = folder.free_name(name, "")
    directory.mkdir()
    report = write_result(directory, measured.estimate, measured.provenance, check, view=view)
    return _outcome(view, directory, report)


def opened_result(directory: Path) -> Outcome:
    """A result that is there already.

    Raises
    ------
    FeltloadError
        It cannot be read.
    """
    from feltload.app.files.provenance import load_provenance
    from feltload.app.pages.result_folder import result_view
    from feltload.app.pages.showing import newest_page
    from feltload.calibration import parse_machine
    from feltload.signal import load_results

    estimate, provenance = load_results(directory), load_provenance(directory)
    text = provenance.machine_toml
    check = None if text is None else _checked(estimate, provenance, parse_machine(text, "machine.toml"))
    return _outcome(result_view(estimate, provenance, check), directory, newest_page(directory))


def _checked(estimate: ProfileEstimate, provenance: Provenance, machine: Machine) -> MachineCheck | None:
    from feltload.app.jobs.machine_check import check_measured
    from feltload.calibration import MachineError

    try:
        return check_measured(estimate, provenance, machine)
    except MachineError:
        # The machine file says too little about masses for a comparison; the profile needs none.
        return None


def _outcome(view: ReportView, directory: Path, report: Path) -> Outcome:
    return Outcome(
        OutcomeKind.MACHINE,
        directory.name,
        view.machine,
        view.headline,
        view.facts,
        advice=(view.advice,),
        drawing=view.profile_figure,
        findings=(view.summary, *view.findings),
        doubts=view.warnings,
        cautions=view.cautions,
        invented=view.invented,
        sources=tuple(row.name for row in view.inputs),
        document=report,
    )
