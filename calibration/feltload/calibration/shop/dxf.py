"""Sheets and cam outlines as DXF (AutoCAD R2010), in millimetres, one layer for each kind of line."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from feltload.calibration.errors import MachineError
from feltload.calibration.shop.block import Cells, title_block
from feltload.calibration.shop.cam import CamPlate
from feltload.calibration.shop.dimensions import Distance, Elevation
from feltload.calibration.shop.drawn import LETTER_MM, Placed, Sheet
from feltload.core import Floats, replacing

if TYPE_CHECKING:
    from ezdxf.document import Drawing

LAYERS: Final = {
    "MACHINE": (7, "CONTINUOUS", 70),
    "FRAME": (8, "DASHED", 35),
    "CENTRE": (8, "CENTER", 25),
    "DIMENSIONS": (5, "CONTINUOUS", 25),
    "TEXT": (7, "CONTINUOUS", 25),
    "CAM": (7, "CONTINUOUS", 70),
    "CAM-FREE": (8, "DASHED", 35),
    "CABLE": (3, "CENTER", 25),
    "TODAY": (9, "DASHED", 25),
    "BLOCK": (7, "CONTINUOUS", 35),
}
"""Layer -> colour index, kind of line, width in hundredths of a millimetre."""
_STYLE: Final = "SHOP"
_CAPITAL: Final = 0.75
"""Height of a capital, which DXF asks for, as a part of the letters' size."""
_LONGEST: Final = 90
"""Letters of a note's line."""
_BLOCK_MM: Final = 150.0
"""Least width of a title block on paper."""


def save_sheet_dxf(path: Path, sheet: Sheet) -> Path:
    """Write a sheet with dimension entities.

    Raises
    ------
    MachineError
        The library for DXF is not installed.
    """
    document = _document(sheet.letter_mm)
    space = document.modelspace()
    for line in sheet.lines:
        space.add_lwpolyline(_plain(line.points), dxfattribs={"layer": line.layer})
    for ring in sheet.rings:
        space.add_circle(_pair(ring.centre), ring.radius, dxfattribs={"layer": ring.layer})
    for placed in sheet.dimensions:
        _add_dimension(space, placed)
    for name in sheet.names:
        _add_text(space, name.text, name.at, _CAPITAL * sheet.letter_mm)
    width = float(sheet.high[0] - sheet.low[0])
    _add_notes(space, sheet.notes, sheet.block, sheet.low, width, sheet.letter_mm)
    return _save(path, document)


def save_cam_dxf(path: Path, plate: CamPlate) -> Path:
    """Write a cam to cut from: its closed outline alone on the layer CAM, what helps to set it up on others.

    Raises
    ------
    MachineError
        The library for DXF is not installed.
    """
    document = _document(plate.letter_mm)
    space = document.modelspace()
    space.add_lwpolyline(_plain(plate.outline_mm), close=True, dxfattribs={"layer": "CAM"})
    space.add_lwpolyline(_plain(plate.cable_mm), dxfattribs={"layer": "CABLE"})
    reach = 3.0 * plate.letter_mm
    for way in ((reach, 0.0), (0.0, reach)):
        ends = [(-way[0], -way[1]), way]
        space.add_lwpolyline(ends, dxfattribs={"layer": "CENTRE"})
    for mark in plate.marks:
        space.add_lwpolyline([_pair(mark.start), _pair(mark.end)], dxfattribs={"layer": "CENTRE"})
        _add_text(space, mark.text, mark.at, _CAPITAL * plate.letter_mm)
    low = np.min([plate.outline_mm.min(axis=0), *(mark.at for mark in plate.marks)], axis=0)
    width = float(np.ptp(plate.outline_mm[:, 0]))
    _add_notes(space, plate.notes, plate.block, low, width, plate.letter_mm)
    return _save(path, document)


def _document(letter_mm: float) -> Drawing:
    try:
        from ezdxf import units
        from ezdxf.filemanagement import new
    except ImportError as error:
        raise MachineError(
            "a DXF drawing needs the library ezdxf", remedy='install it with pip install "feltload[cad]"'
        ) from error
    document = new("R2010", setup=True)
    document.units = units.MM
    document.header["$MEASUREMENT"] = 1
    document.styles.add("SHOP", font="OpenSans-Regular.ttf")
    for layer, (colour, line, width) in LAYERS.items():
        document.layers.add(layer, color=colour, linetype=line, lineweight=width)
    style = document.dimstyles.duplicate_entry("EZDXF", _STYLE)
    style.dxf.dimtxt = _CAPITAL * letter_mm
    style.dxf.dimtxsty = "SHOP"
    style.dxf.dimasz = 0.75 * letter_mm
    style.dxf.dimscale = 1.0
    style.dxf.dimexe = 0.4 * letter_mm
    style.dxf.dimexo = 0.3 * letter_mm
    style.dxf.dimgap = 0.3 * letter_mm
    style.dxf.dimtix = 1
    style.dxf.dimlfac = 1.0
    style.dxf.dimtsz = 0.0
    style.dxf.dimblk = ""
    # Else the lines of a dimension are as black and as wide as the machine, on the block's layer 0.
    colour, _, width = LAYERS["DIMENSIONS"]
    style.dxf.dimclrd = style.dxf.dimclre = style.dxf.dimclrt = colour
    style.dxf.dimlwd = style.dxf.dimlwe = width
    return document


def _add_dimension(space: Any, placed: Placed) -> None:
    each = placed.dimension
    attributes = {"layer": "DIMENSIONS"}
    shared = {
        "dimstyle": _STYLE,
        "text": placed.text,
        "location": _pair(placed.at),
        "text_rotation": math.degrees(placed.turn_rad),
        "dxfattribs": attributes,
    }
    if isinstance(each, Distance):
        way = each.end - each.start
        angle = math.degrees(math.atan2(way[1], way[0])) if each.axis is None else 90.0 * each.axis
        space.add_linear_dim(
            base=_pair(placed.line[0]), p1=_pair(each.start), p2=_pair(each.end), angle=angle, **shared
        ).render()
    elif isinstance(each, Elevation):
        turn = math.remainder(each.angle_rad, 2.0 * math.pi)
        first, last = (0.0, turn) if turn >= 0.0 else (turn, 0.0)
        arc = math.dist(placed.line[0], each.vertex)
        space.add_angular_dim_cra(
            center=_pair(each.vertex),
            radius=0.1 * arc,
            start_angle=math.degrees(first),
            end_angle=math.degrees(last),
            distance=0.9 * arc,
            **shared,
        ).render()
    else:
        rim = placed.line[1] - each.centre
        space.add_radius_dim(
            center=_pair(each.centre),
            radius=each.radius,
            angle=math.degrees(math.atan2(rim[1], rim[0])),
            dimstyle=_STYLE,
            text=placed.text,
            location=_pair(placed.at),
            override={"dimtih": 1, "dimtoh": 1},
            dxfattribs=attributes,
        ).render()


def _add_text(space: Any, words: str, at: Floats, height: float) -> None:
    from ezdxf.enums import TextEntityAlignment

    text = space.add_text(words, height=height, dxfattribs={"layer": "TEXT", "style": "SHOP"})
    text.set_placement(_pair(at), align=TextEntityAlignment.MIDDLE_CENTER)


def _add_notes(
    space: Any, notes: Sequence[str], cells: Cells, low: Floats, width: float, letter_mm: float
) -> None:
    """Notes below what is drawn, wrapped, and the title block below them."""
    rows = [part for words in notes for part in textwrap.wrap(words, _LONGEST) or [""]]
    for row, words in enumerate(rows):
        at = (float(low[0]), float(low[1] - (2.0 + 1.5 * row) * letter_mm))
        _add_words(space, words, at, letter_mm)
    per_paper = letter_mm / LETTER_MM
    block = title_block(cells, max(width / per_paper, _BLOCK_MM))
    corner = np.array([low[0], low[1] - (2.0 + 1.5 * len(rows)) * letter_mm])
    down = np.array([per_paper, -per_paper])
    for line in block.lines if cells else ():
        space.add_lwpolyline(_plain(corner + down * line), dxfattribs={"layer": "BLOCK"})
    for cell in block.words:
        _add_words(space, cell.text, _pair(corner + down * cell.at), cell.letter_mm * per_paper)


def _add_words(space: Any, words: str, at: tuple[float, float], letter_mm: float) -> None:
    attributes = {"layer": "TEXT", "style": "SHOP"}
    space.add_text(words, height=_CAPITAL * letter_mm, dxfattribs=attributes).set_placement(at)


def _save(path: Path, document: Drawing) -> Path:
    with replacing(path) as part:
        document.saveas(part)
    return path


def _pair(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _plain(points: Floats) -> list[tuple[float, float]]:
    return [_pair(point) for point in points]
