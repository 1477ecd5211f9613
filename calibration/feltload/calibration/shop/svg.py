"""A sheet as SVG on paper size, with text that stays text."""

from __future__ import annotations

import math
from typing import Final
from xml.etree import ElementTree

import numpy as np

from feltload.calibration.shop.block import title_block
from feltload.calibration.shop.dimensions import Distance, Elevation
from feltload.calibration.shop.drawn import LETTER_MM, Placed, Sheet, dimension_line
from feltload.calibration.shop.sheet import BEFORE
from feltload.core import Floats

_WIDTHS: Final = {
    "MACHINE": 0.7,
    "FRAME": 0.35,
    "CENTRE": 0.25,
    "DIMENSIONS": 0.25,
    "CAM": 0.7,
    "CAM-FREE": 0.35,
    "TODAY": 0.5,
}
"""Widths of lines on paper (groups of ISO 128, from memory)."""
_DASHES: Final = {"CENTRE": "6 1.5 1 1.5", "FRAME": "3 1.5", "CAM-FREE": "3 1.5", "TODAY": "4 2"}
_GREY: Final = "#8c8c8c"
_INK: Final = "#111111"
_FINE: Final = "#0b4a7a"
_MARGIN_MM: Final = 8.0
_ARROW_MM: Final = 2.6


def sheet_svg(sheet: Sheet) -> str:
    """The sheet as an SVG document in millimetres of paper."""
    drawn = (sheet.high - sheet.low) / sheet.scale
    width = max(float(drawn[0]), 150.0) + 2.0 * _MARGIN_MM
    wrapped = [part for line in sheet.notes for part in _wrap(line, int((width - 2.0 * _MARGIN_MM) / 1.75))]
    block = title_block(sheet.block, width - 2.0 * _MARGIN_MM)
    below = 5.0 * len(wrapped) + 4.0 + block.height_mm + (4.0 if sheet.block else 0.0)
    height = float(drawn[1]) + 2.0 * _MARGIN_MM + below
    root = ElementTree.Element(
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        width=f"{width:.2f}mm",
        height=f"{height:.2f}mm",
        viewBox=f"0 0 {width:.3f} {height:.3f}",
        role="img",
    )
    ElementTree.SubElement(root, "title").text = sheet.title
    ElementTree.SubElement(root, "rect", width="100%", height="100%", fill="white")
    paper = _Paper(root, sheet)
    for line in sheet.lines:
        paper.line(line.points, line.layer)
    for ring in sheet.rings:
        paper.ring(ring.centre, ring.radius, ring.layer)
    for placed in sheet.dimensions:
        _dimension(paper, placed)
    for name in sheet.names:
        paper.text(name.text, name.at, 0.0, _INK)
    for row, words in enumerate(wrapped):
        paper.words(words, np.array([_MARGIN_MM, height - below + 5.0 * row + 2.0]), 3.2)
    corner = np.array([_MARGIN_MM, height - _MARGIN_MM - block.height_mm])
    for edge in block.lines if sheet.block else ():
        paper.edge(corner + edge)
    for cell in block.words:
        paper.words(cell.text, corner + cell.at, cell.letter_mm)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


class _Paper:
    """Draws millimetres of the machine onto paper."""

    def __init__(self, root: ElementTree.Element, sheet: Sheet) -> None:
        self.root = root
        self.sheet = sheet

    def at(self, point: Floats) -> Floats:
        """A point on paper, y down."""
        return np.array(
            [
                (point[0] - self.sheet.low[0]) / self.sheet.scale + _MARGIN_MM,
                (self.sheet.high[1] - point[1]) / self.sheet.scale + _MARGIN_MM,
            ]
        )

    def line(self, points: Floats, layer: str, colour: str = _INK) -> None:
        where = " ".join("{:.3f},{:.3f}".format(*self.at(point)) for point in points)
        self._add("polyline", {"points": where, "fill": "none"}, layer, colour)

    def ring(self, centre: Floats, radius: float, layer: str) -> None:
        x, y = self.at(centre)
        size = {"cx": f"{x:.3f}", "cy": f"{y:.3f}", "r": f"{radius / self.sheet.scale:.3f}", "fill": "none"}
        self._add("circle", size, layer, _INK)

    def arrow(self, tip: Floats, toward: Floats) -> None:
        """A filled arrow head at `tip` that points away from `toward`."""
        x, y = self.at(tip)
        away = self.at(tip) - self.at(toward)
        away = away / max(float(np.hypot(*away)), 1e-9) * _ARROW_MM
        side = np.array([-away[1], away[0]]) / 6.0
        back = np.array([x, y]) - away
        corners = [(x, y), tuple(back + side), tuple(back - side)]
        where = " ".join("{:.3f},{:.3f}".format(*corner) for corner in corners)
        ElementTree.SubElement(self.root, "polygon", points=where, fill=_FINE)

    def text(self, words: str, at: Floats, turn_rad: float, colour: str) -> None:
        x, y = self.at(at)
        ElementTree.SubElement(
            self.root,
            "text",
            {
                "x": f"{x:.3f}",
                "y": f"{y:.3f}",
                "transform": f"rotate({-math.degrees(turn_rad):.3f} {x:.3f} {y:.3f})",
                "text-anchor": "middle",
                "dominant-baseline": "central",
                "font-family": "sans-serif",
                "font-size": f"{LETTER_MM:g}",
                "fill": colour,
                "stroke": "white",
                "stroke-width": "1",
                "paint-order": "stroke",
            },
        ).text = words

    def words(self, words: str, at_mm: Floats, letter_mm: float) -> None:
        """Words that begin at a place of the paper."""
        place = {"x": f"{at_mm[0]:.2f}", "y": f"{at_mm[1]:.2f}"}
        style = {"font-family": "sans-serif", "font-size": f"{letter_mm:.3g}", "fill": _INK}
        ElementTree.SubElement(self.root, "text", {**place, **style}).text = words

    def edge(self, ends_mm: Floats) -> None:
        """A line of the title block."""
        where = " ".join("{:.2f},{:.2f}".format(*end) for end in ends_mm)
        style = {"fill": "none", "stroke": _INK, "stroke-width": "0.35", "class": "block"}
        ElementTree.SubElement(self.root, "polyline", {"points": where, **style})

    def _add(self, tag: str, shape: dict[str, str], layer: str, colour: str) -> None:
        colour = _GREY if layer == BEFORE else colour
        shape |= {"stroke": colour, "stroke-width": f"{_WIDTHS[layer]:g}", "class": layer.lower()}
        if layer in _DASHES:
            shape["stroke-dasharray"] = _DASHES[layer]
        ElementTree.SubElement(self.root, tag, shape)


def _dimension(paper: _Paper, placed: Placed) -> None:
    each, line = placed.dimension, dimension_line(placed)
    paper.line(line, "DIMENSIONS", _FINE)
    if isinstance(each, Distance):
        for foot, end in zip((each.start, each.end), placed.line, strict=True):
            paper.line(np.array([foot, end]), "DIMENSIONS", _FINE)
        paper.arrow(placed.line[0], placed.line[1])
        paper.arrow(placed.line[1], placed.line[0])
    elif isinstance(each, Elevation):
        for end in placed.line:
            paper.line(np.array([each.vertex, end]), "DIMENSIONS", _FINE)
        paper.arrow(line[0], line[3])
        paper.arrow(line[-1], line[-4])
    else:
        rim = each.centre + each.radius * (placed.line[1] - each.centre) / np.hypot(
            *(placed.line[1] - each.centre)
        )
        paper.arrow(rim, placed.line[1])
    paper.text(placed.text, placed.at, placed.turn_rad, _FINE)


def _wrap(words: str, most: int) -> list[str]:
    import textwrap

    return textwrap.wrap(words, max(most, 20)) or [""]
