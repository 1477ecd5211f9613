"""The parts of a figure's travel in which nothing is known, or nobody works."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from matplotlib.axes import Axes

from feltload.app.pages.axes import along_travel
from feltload.app.pages.canvas import GRID, QUIET, Sheet
from feltload.coaching import WorkingTravel
from feltload.signal import Travel

SORE = "#b3261e"
SORE_FILL = "#f6dcd9"
NARROW_SHARE = 0.3
"""A part that takes less of the axis than this has its name upright."""
NAMELESS_SHARE = 0.035
"""A part that takes less than this has no room for a name; the caption says what it is."""

Part = tuple[str, str, tuple[float, float]]


def shade_travel(
    axes: Axes, travel: WorkingTravel, along: Travel, sheet: Sheet, *, named: bool = True
) -> None:
    """Shade what is painful, not used and not measured of the measured travel.

    Call it on axes of the travel that have their limits; `named` writes into each part what it is.
    """
    for name, colour, span in _parts(travel):
        shaded = _shade(axes, span, along, sore=colour == SORE)
        if named and shaded is not None:
            _name(axes, name, colour, shaded, sheet)


def shade_painful(axes: Axes, spans_rad: Sequence[tuple[float, float]], along: Travel) -> None:
    """Shade what is marked painful alone."""
    for span in spans_rad:
        _shade(axes, span, along, sore=True)


def _shade(axes: Axes, span: tuple[float, float], along: Travel, *, sore: bool) -> tuple[float, float] | None:
    """Shade a range; the part of it that is on the axes, None where there is none."""
    begin, end = (float(at) for at in np.clip(along_travel(np.array(span), along), 0.0, 100.0))
    if end <= begin:
        return None
    axes.axvspan(
        begin,
        end,
        facecolor=SORE_FILL if sore else "none",
        edgecolor=SORE if sore else QUIET,
        hatch="///" if sore else "....",
        alpha=0.55 if sore else 0.4,
        lw=0,
        zorder=0.5,
    )
    return begin, end


def describe_shading(travel: WorkingTravel) -> str:
    """What the shades mean, for the caption."""
    words = []
    if travel.avoided_rad:
        words.append("Red: marked painful, nobody works there.")
    grey = [
        name for name, parts in (("not measured", travel.unknown_rad), ("not used", _unused(travel))) if parts
    ]
    if grey:
        words.append(f"Dotted: {' or '.join(grey)}.")
    return " ".join(words)


def _parts(travel: WorkingTravel) -> Iterator[Part]:
    for span in travel.avoided_rad:
        yield "painful: keep out", SORE, span
    for span in travel.unknown_rad:
        yield "not measured", QUIET, span
    for span in _unused(travel):
        yield "not used", QUIET, span


def _unused(travel: WorkingTravel) -> list[tuple[float, float]]:
    """What lies between the painful ranges and the client's travel, or beyond them."""
    low, high = travel.measured_rad
    begin = min([travel.work_rad[0], *(span[0] for span in travel.unknown_rad)])
    end = max([travel.work_rad[1], *(span[1] for span in travel.unknown_rad)])
    edges = [low]
    for span in travel.avoided_rad:
        edges += [span[0], span[1]]
    edges.append(high)
    pieces = zip(edges[::2], edges[1::2], strict=True)
    return [
        (first, last)
        for piece in pieces
        for first, last in ((piece[0], min(piece[1], begin)), (max(piece[0], end), piece[1]))
        if last - first > np.deg2rad(0.5)
    ]


def _name(axes: Axes, name: str, colour: str, span: tuple[float, float], sheet: Sheet) -> None:
    share = (span[1] - span[0]) / 100.0
    if share < NAMELESS_SHARE * (1.0 if sheet.wide else 1.6):
        return
    axes.text(
        0.5 * (span[0] + span[1]),
        0.04,
        name,
        transform=axes.get_xaxis_transform(),
        rotation=90 if share < NARROW_SHARE else 0,
        ha="center",
        va="bottom",
        color=colour,
        fontsize=sheet.font_pt,
        bbox={"facecolor": "white", "edgecolor": GRID, "linewidth": 0.4, "pad": 1.5, "alpha": 0.85},
        zorder=3,
    )
