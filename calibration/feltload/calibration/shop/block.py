"""The title block of a drawing: cells with a small heading each, in millimetres of paper, y down from its edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.shop.drawn import LETTER_MM, LETTER_WIDTH
from feltload.core import Floats

Cells = Sequence[tuple[str, str]]
"""Heading and words of each cell, row by row."""
_COLUMNS: Final = (0.44, 0.2, 0.36)
_ROW_MM: Final = 9.5
_HEADING_MM: Final = 2.5
_INDENT_MM: Final = 1.5


@dataclass(frozen=True)
class Words:
    """Words that begin at `at` (2,), with the height of their letters."""

    text: str
    at: Floats
    letter_mm: float


@dataclass(frozen=True)
class TitleBlock:
    """Lines (2, 2) each, words, and the height of the whole."""

    lines: tuple[Floats, ...]
    words: tuple[Words, ...]
    height_mm: float


def title_block(cells: Cells, width_mm: float) -> TitleBlock:
    """Lay out the cells, three in a row."""
    across = len(_COLUMNS)
    rows = -(-len(cells) // across)
    edges = width_mm * np.concatenate(([0.0], np.cumsum(_COLUMNS)))
    height = rows * _ROW_MM
    lines = [np.array([[0.0, y], [width_mm, y]]) for y in _ROW_MM * np.arange(rows + 1)]
    lines += [np.array([[x, 0.0], [x, height]]) for x in edges]
    words = []
    for i, (heading, text) in enumerate(cells):
        row, column = divmod(i, across)
        corner = np.array([edges[column] + _INDENT_MM, row * _ROW_MM])
        room = edges[column + 1] - edges[column] - 2.0 * _INDENT_MM
        letter = min(LETTER_MM, room / (LETTER_WIDTH * max(len(text), 1)))
        words.append(Words(heading, corner + (0.0, 3.2), _HEADING_MM))
        words.append(Words(text, corner + (0.0, 7.8), letter))
    return TitleBlock(tuple(lines), tuple(words), height)
