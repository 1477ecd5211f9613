"""What becomes of closed recordings of a machine: a result folder, as `feltload profile` writes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.text.facts import describe, describe_fully
from feltload.core import Severity


@dataclass(frozen=True)
class Outcome:
    """A result that was written.

    Attributes
    ----------
    directory : Path
    recordings : tuple of Path
        What it was made of.
    findings, doubts : tuple of str
        What it shows, and what is wrong with the data behind it, in sentences.
    invented : bool
    """

    directory: Path
    recordings: tuple[Path, ...]
    findings: tuple[str, ...]
    doubts: tuple[str, ...]
    invented: bool

    @property
    def report(self) -> Path:
        """The page of the result."""
        from feltload.app.pages.result_folder import REPORT

        return self.directory / REPORT


def profile_recordings(folder: WorkingFolder, recordings: Sequence[Path], name: str) -> Outcome:
    """Measure the machine of these recordings and write the result beside them; takes some seconds.

    Raises
    ------
    FeltloadError
        There is no profile in them.
    """
    # Slow to import, and only this needs them.
    from feltload.app.jobs.machine_check import check_measured
    from feltload.app.jobs.measuring.measurement import measure
    from feltload.app.pages.result_folder import write_result
    from feltload.calibration import MachineError
    from feltload.signal import summarize_findings

    measured = measure(recordings)
    try:
        check = check_measured(measured.estimate, measured.provenance, measured.machine)
    except MachineError:
        # The machine file says too little about masses for a comparison; the profile needs none.
        check = None
    directory = folder.free_name(name, "")
    directory.mkdir()
    write_result(directory, measured.estimate, measured.provenance, check)
    warnings = measured.estimate.warnings
    ordered = sorted(warnings, key=lambda fact: fact.severity is not Severity.SERIOUS)
    return Outcome(
        directory,
        tuple(recordings),
        tuple(describe(fact) for fact in summarize_findings(measured.estimate)),
        tuple(describe_fully(fact) for fact in ordered),
        measured.provenance.invented,
    )
