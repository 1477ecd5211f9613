"""The folder of a design: the page, the record, the new machine file; never over the old one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

from feltload.app.errors import UsageError
from feltload.app.files.outputs import claim_directory
from feltload.app.jobs.predicting.designs import cam_record, proposal_record
from feltload.app.pages.design.view import build_cam, build_proposal
from feltload.app.pages.page import render_design
from feltload.app.pages.shop.drawings import PROPOSAL, draw_proposal
from feltload.app.text.facts import describe_fully
from feltload.app.text.proposed.proposal import cam_lines, file_comments, proposal_lines, proposed_name
from feltload.calibration import (
    CamDesign,
    Proposal,
    general_tolerance,
    parse_machine,
    rewrite_cam,
    rewrite_dimensions,
)
from feltload.core import write_file

MACHINE: Final = "machine.toml"
RECORD: Final = "design.json"
PAGE: Final = "design.html"
FILES: Final = (MACHINE, RECORD, PAGE, *PROPOSAL)


def claim_design(machine: Path, out: Path, *, overwrite: bool) -> Path:
    """Make the folder; refuse one whose machine file would be the old one.

    Raises
    ------
    UsageError, OutputExistsError
    """
    if (out / MACHINE).exists() and machine.exists() and (out / MACHINE).samefile(machine):
        raise UsageError(
            "holds the machine file that is designed from", where=str(out), remedy="choose another --out"
        )
    return claim_directory(out, FILES, overwrite=overwrite)


Shown = tuple[list[str], dict[str, object], Path | None]
"""Lines for the terminal, the record, and the page where one was written."""


def show_proposal(proposal: Proposal, text: str, out: Path | None) -> Shown:
    """A proposal in words, written into `out` where there is one; `text` is today's machine file."""
    lines, record = proposal_lines(proposal), proposal_record(proposal)
    lines[1:1] = [describe_fully(fact) for fact in proposal.facts]
    if out is None:
        return lines, record, None
    changed = [
        (each.free.parameter, each.value, general_tolerance(each.free.parameter, each.value))
        for each in proposal.dimensions
    ]
    new = rewrite_dimensions(
        text, changed, name=proposed_name(proposal.machine.name), comments=file_comments(proposal.meets)
    )
    page = _write(out, new, record, render_design(build_proposal(proposal)))
    lines += [f"Drawing: {path}" for path in draw_proposal(proposal, out)]
    return lines, record, page


def show_cam(design: CamDesign, text: str, out: Path | None) -> Shown:
    """The same of a cam."""
    lines, record = cam_lines(design), cam_record(design)
    lines[1:1] = [describe_fully(fact) for fact in design.facts]
    if out is None:
        return lines, record, None
    new = rewrite_cam(
        text, *design.rows, name=proposed_name(design.machine.name), comments=file_comments(design.meets)
    )
    return lines, record, _write(out, new, record, render_design(build_cam(design)))


def _write(out: Path, machine: str, record: dict[str, object], page: str) -> Path:
    # What is proposed must be readable before it is called a machine file.
    parse_machine(machine, str(out / MACHINE))
    for stale in PROPOSAL:
        (out / stale).unlink(missing_ok=True)
    write_file(out / MACHINE, machine)
    write_file(out / RECORD, json.dumps(record, indent=1) + "\n")
    write_file(out / PAGE, page)
    return out / PAGE
