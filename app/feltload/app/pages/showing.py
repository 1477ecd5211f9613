"""The page of a result on the screen."""

from __future__ import annotations

import webbrowser
from pathlib import Path

from feltload.app.files.provenance import load_provenance
from feltload.app.pages.result_folder import CHECK_REPORT, REPORT, result_page
from feltload.core import write_file
from feltload.signal import load_results


def newest_page(directory: Path, *, again: bool = False) -> Path:
    """The page to show: that of the check where it is the newest, else the report, drawn where it is missing.

    Parameters
    ----------
    directory : Path
        Result of ``feltload profile``.
    again : bool
        Draw the report in any case.

    Raises
    ------
    FeltloadError
        If there is no result here.
    """
    report, check = directory / REPORT, directory / CHECK_REPORT
    if again or not report.exists():
        write_file(report, result_page(load_results(directory), load_provenance(directory)))
        return report
    newer = check.exists() and check.stat().st_mtime_ns >= report.stat().st_mtime_ns
    return check if newer else report


def show_page(page: Path) -> bool:
    """Open it in the system's browser; False where none is known."""
    try:
        return webbrowser.open(page.resolve().as_uri())
    except webbrowser.Error:
        return False
