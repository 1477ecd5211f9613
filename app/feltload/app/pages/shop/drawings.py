"""The files of a machine that a shop works from."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from feltload.app.files.outputs import claim_directory
from feltload.app.text.proposed.drawing import (
    CAM_MARKS,
    CAM_NOTES,
    NOTES,
    cam_title,
    cam_tolerance_note,
    dimension_labels,
    dimension_table,
    drawing_title,
)
from feltload.calibration import (
    WITHIN_M,
    Cable,
    Machine,
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
    sheet = machine_sheet(machine, dimension_labels(machine), title=drawing_title(machine.name), notes=NOTES)
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
            CAM_MARKS,
            title=cam_title(machine.name),
            notes=(cam_tolerance_note(WITHIN_M * 1e3, diameter), *CAM_NOTES),
        )
        files.append(save_cam_dxf(out / CAM, plate))
    return ShopDrawings(tuple(files), facts)
