"""A cam as a plate to cut: its outline about the axis, where the cable leaves it, what is marked on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.cams.outline import CamOutline
from feltload.calibration.errors import MachineError
from feltload.calibration.shop.dimensions import MM
from feltload.core import Floats

_LETTERS: Final = 40.0
"""Letters are this part of the cam's size."""


@dataclass(frozen=True)
class CamMark:
    """A ray from the axis to where the cable leaves first or last, with its words at `at` (2,)."""

    text: str
    start: Floats
    end: Floats
    at: Floats


@dataclass(frozen=True)
class CamPlate:
    """A cam to cut, in millimetres about its axis, as it stands on the start stop.

    Attributes
    ----------
    title : str
    notes : tuple of str
    outline_mm : ndarray, shape (n, 2)
        The closed outline, first point not repeated, counter-clockwise.
    cable_mm : ndarray, shape (m, 2)
        Middle of the cable where it lies.
    marks : tuple of CamMark
    letter_mm : float
    block : tuple of tuple of str
        Heading and words of each cell of the title block.
    """

    title: str
    notes: tuple[str, ...]
    outline_mm: Floats
    cable_mm: Floats
    marks: tuple[CamMark, ...]
    letter_mm: float
    block: tuple[tuple[str, str], ...] = ()


def cam_plate(
    outline: CamOutline, travel_rad: float, words: tuple[str, str], *, title: str, notes: Sequence[str] = ()
) -> CamPlate:
    """Lay out a cam for cutting.

    Parameters
    ----------
    outline : CamOutline
    travel_rad : float
        The cable leaves at the first mark on the start stop and at the second after this rotation.
    words : tuple of str
        What the two marks say.
    title : str
    notes : sequence of str

    Raises
    ------
    MachineError
        The outline is not known everywhere.
    """
    if not np.isfinite(outline.surface_m).all():
        raise MachineError(
            "no outline gives these moment arms all along",
            where="cable.leaving",
            remedy="move the guide pulley",
        )
    closed = outline.closed_m * MM
    letter = float(np.ptp(closed, axis=0).max()) / _LETTERS
    marks = []
    for q, text in zip((0.0, travel_rad), words, strict=True):
        at = int(np.argmin(np.abs(outline.q_rad - q)))
        foot = outline.centre_m[at] * MM
        way = foot / np.hypot(*foot)
        side = 0.25 * letter * len(text) * np.sign(round(way[0], 3))
        marks.append(
            CamMark(text, np.zeros(2), foot + 1.5 * letter * way, foot + 3.0 * letter * way + (side, 0.0))
        )
    return CamPlate(title, tuple(notes), closed, outline.centre_m * MM, tuple(marks), letter)
