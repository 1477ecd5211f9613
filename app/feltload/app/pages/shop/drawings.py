"""The files of a machine that a shop works from."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import numpy as np

from feltload.app.files.outputs import claim_directory
from feltload.app.text.proposed.drawing import (
    CAM_NOTES,
    NOTES,
    PROPOSAL_NOTES,
    cam_cells,
    cam_marks,
    cam_title,
    cam_tolerance_note,
    changed_labels,
    changes_note,
    dimension_labels,
    dimension_table,
    drawing_title,
    proposal_title,
    sheet_cells,
)
from feltload.app.text.proposed.proposal import proposed_name
from feltload.calibration import (
    WITHIN_M,
    Cable,
    Machine,
    Proposal,
    cam_outline,
    cam_plate,
    check_cam,
    drawn_dimensions,
    machine_sheet,
    save_cam_dxf,
    save_sheet_dxf,
    sheet_svg,
)
from feltload.core import Fact, write_file

SIDE_VIEW: Final = "side-view"
TABLE: Final = "dimensions.csv"
CAM: Final = "cam.dxf"
PROPOSAL: Final = ("proposal.svg", "proposal.dxf")
FILES: Final = (f"{SIDE_VIEW}.svg", f"{SIDE_VIEW}.dxf", TABLE, CAM)


@dataclass(frozen=True)
class ShopDrawings:
    """Files written, and what speaks against making the cam."""

    files: tuple[Path, ...]
    cam_facts: tuple[Fact, ...]


def draw_for_shop(machine: Machine, out: Path, *, travel_rad: float, overwrite: bool) -> ShopDrawings:
    """Write side view (SVG and DXF), table of dimensions, and the outline of a cam, into a directory.

    Raises
    ------
    OutputExistsError, MachineError
    """
    cam = machine.mechanism.cam if isinstance(machine.mechanism, Cable) else None
    claim_directory(out, FILES, overwrite=overwrite)
    today = date.today()
    sheet = machine_sheet(machine, dimension_labels(machine), title=drawing_title(machine.name), notes=NOTES)
    sheet = replace(sheet, block=sheet_cells(machine.name, sheet.scale, today))
    files = [out / f"{SIDE_VIEW}.svg", save_sheet_dxf(out / f"{SIDE_VIEW}.dxf", sheet), out / TABLE]
    write_file(files[0], sheet_svg(sheet))
    table = io.StringIO()
    csv.writer(table, lineterminator="\n").writerows(
        dimension_table(machine, frozenset(each.key for each in drawn_dimensions(machine)))
    )
    write_file(out / TABLE, table.getvalue())
    facts: tuple[Fact, ...] = ()
    if cam is not None and isinstance(machine.mechanism, Cable):
        leaving = machine.mechanism.leaving
        outline = cam_outline(*cam, leaving)
        facts = check_cam(outline, leaving)
        diameter = None if leaving.diameter is None else leaving.diameter * 1e3
        plate = cam_plate(
            outline,
            travel_rad,
            cam_marks(*np.interp([0.0, travel_rad], *cam)),
            title=cam_title(machine.name),
            notes=(cam_tolerance_note(WITHIN_M * 1e3, diameter), *CAM_NOTES),
        )
        files.append(save_cam_dxf(out / CAM, replace(plate, block=cam_cells(machine, today))))
    return ShopDrawings(tuple(files), facts)


def draw_proposal(proposal: Proposal, out: Path) -> tuple[Path, ...]:
    """Write the proposed machine over today's into a directory: SVG, and DXF where its library is installed."""
    if not proposal.dimensions:
        return ()
    proposed, today = proposal.proposed, proposal.machine
    labels = changed_labels(proposal.dimensions)
    title, notes = proposal_title(today.name), (changes_note(proposal.dimensions), *PROPOSAL_NOTES)
    sheet = machine_sheet(proposed, labels, title=title, notes=notes, before=today)
    sheet = replace(sheet, block=sheet_cells(proposed_name(today.name), sheet.scale, date.today()))
    files = [out / PROPOSAL[0]]
    write_file(files[0], sheet_svg(sheet))
    if find_spec("ezdxf") is not None:
        files.append(save_sheet_dxf(out / PROPOSAL[1], sheet))
    return tuple(files)
