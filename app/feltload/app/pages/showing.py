"""The page of a result on the screen."""

from __future__ import annotations

import webbrowser
from collections.abc import Sequence
from pathlib import Path

from feltload.app.files.provenance import load_provenance
from feltload.app.jobs.predicting.targets import load_targets, write_targets
from feltload.app.pages.prediction_folder import redraw_prediction
from feltload.app.pages.result_folder import CHECK_REPORT, REPORT, result_page
from feltload.calibration import Target, judge_profile
from feltload.core import write_file
from feltload.signal import load_results


def newest_page(directory: Path, *, again: bool = False, targets: Sequence[Target] = ()) -> Path:
    """The page to show: that of the check where it is the newest, else the report, drawn where it is missing.

    Parameters
    ----------
    directory : Path
        Result of ``feltload profile`` or ``feltload predict``.
    again : bool
        Draw the report in any case.
    targets : sequence of Target
        To compare it with, in place of those kept beside it; the report is drawn in any case.

    Raises
    ------
    FeltloadError
        If there is no result here, or a target cannot be compared.
    """
    report, check = directory / REPORT, directory / CHECK_REPORT
    if again or targets or not report.exists():
        estimate, provenance = load_results(directory), load_provenance(directory)
        if not estimate.measured:
            return redraw_prediction(directory, targets)
        judgements = judge_profile(estimate, targets or load_targets(directory))
        write_file(report, result_page(estimate, provenance, judgements))
        if targets:
            write_targets(directory, judgements, estimate.travel)
        return report
    newer = check.exists() and check.stat().st_mtime_ns >= report.stat().st_mtime_ns
    return check if newer else report


def show_page(page: Path) -> bool:
    """Open it in the system's browser; False where none is known."""
    try:
        return webbrowser.open(page.resolve().as_uri())
    except webbrowser.Error:
        return False
