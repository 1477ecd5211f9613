"""Labels of a drawing, placed where they hide neither one another nor the parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.textpath import TextPath

from feltload.core import Flags, Floats

_SIZE_PT: Final = 9.0
_PAD_PT: Final = 2.0
_DOT_PT: Final = 7.0
_REACHES_PT: Final = (11.0, 20.0, 32.0, 46.0)
_LEADER_FROM_PT: Final = 30.0
_DIRECTIONS: Final = np.radians([-45, 45, -135, 135, 0, 180, -90, 90, -20, 20, -160, 160, -70, 70, -110, 110])
_STEP_PT: Final = 1.5
"""Spacing of the points that stand for a line."""
_PRICE_PER_PT: Final = 0.25
"""Of hiding a point's length of a line, for each point of its width."""


@dataclass(frozen=True)
class Label:
    """Text about a point (2,) of the drawing, metres."""

    at: Floats
    text: str
    colour: str


@dataclass(frozen=True)
class Way:
    """A drawn line that labels should keep off: (n, 2), metres, and how wide it is drawn."""

    metres: Floats
    width_pt: float


def place_labels(
    axes: Axes, labels: Sequence[Label], ways: Sequence[Way], *, kept_free: Sequence[Floats] = ()
) -> None:
    """Write every label beside its point.

    Parameters
    ----------
    axes : Axes
        Drawn into already, limits and aspect set.
    labels : sequence of Label
        In order of importance: earlier ones get the better places.
    ways : sequence of Way
        Lines that labels should keep off: the wider, the more.
    kept_free : sequence of ndarray
        Boxes that no label may cover, each its low and its high corner (2, 2), as parts of the axes.
    """
    figure = axes.get_figure(root=True)
    if not isinstance(figure, Figure) or not labels:
        return
    # Where the axes will lie, so that distances on paper are known; a later change of layout is of no account.
    layout = figure.get_layout_engine()
    if layout is not None:
        layout.execute(figure)
    axes.apply_aspect()
    scale = 72.0 / figure.dpi

    def points(metres: Floats) -> Floats:
        return np.asarray(axes.transData.transform(metres) * scale)

    frame = np.asarray(axes.get_window_extent().get_points() * scale)
    dots = points(np.array([label.at for label in labels]))
    dense = [_dense(points(way.metres)) for way in ways]
    lines = np.concatenate([np.empty((0, 2)), *dense])
    widths = np.concatenate(
        [np.empty(0), *(np.full(len(line), way.width_pt) for line, way in zip(dense, ways, strict=True))]
    )
    taken = [np.asarray(axes.transAxes.transform(box) * scale) for box in kept_free]
    for label, dot in zip(labels, dots, strict=True):
        half = 0.5 * np.array([_width_pt(label.text), 1.3 * _SIZE_PT]) + _PAD_PT
        reaches, middles = _candidates(dot, half, frame)
        prices = 0.15 * reaches + _hidden(middles, half, taken, dots, lines, widths)
        best = int(np.argmin(prices))
        centre, reach = middles[best], float(reaches[best])
        taken.append(np.array([centre - half, centre + half]))
        far = reach > _LEADER_FROM_PT
        axes.annotate(
            label.text,
            (float(label.at[0]), float(label.at[1])),
            xytext=(float(centre[0] - dot[0]), float(centre[1] - dot[1])),
            textcoords="offset points",
            ha="center",
            va="center",
            color=label.colour,
            fontsize=_SIZE_PT,
            zorder=8,
            bbox={"boxstyle": "round,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.75},
            arrowprops={"arrowstyle": "-", "color": label.colour, "lw": 0.7} if far else None,
        )


def _candidates(dot: Floats, half: Floats, frame: Floats) -> tuple[Floats, Floats]:
    """Places for a label about a dot: how far each reaches (k,), and its middle (k, 2)."""
    reaches = np.repeat(_REACHES_PT, len(_DIRECTIONS))
    toward = np.tile(np.column_stack((np.cos(_DIRECTIONS), np.sin(_DIRECTIONS))), (len(_REACHES_PT), 1))
    # The box's nearest edge or corner lies at the distance, not its centre.
    sideways = np.where(np.abs(toward) > 0.1, np.sign(toward) * (half - 4.0), 0.0)
    middles = dot + toward * reaches[:, None] + sideways
    # One that would leave the frame slides along its edge.
    return reaches, np.clip(middles, frame[0] + half, np.maximum(frame[1] - half, frame[0] + half))


def _hidden(
    middles: Floats,
    half: Floats,
    taken: Sequence[Floats],
    dots: Floats,
    lines: Floats,
    widths: Floats,
) -> Floats:
    """Price of what boxes about each middle (k, 2) cover: labels, dots and lines; shape (k,)."""
    low, high = (middles - half)[:, None], (middles + half)[:, None]
    others = np.reshape(np.array(taken), (-1, 2, 2))
    over = _both(np.minimum(high, others[:, 1]) > np.maximum(low, others[:, 0]))
    hidden = _both((dots > low - _DOT_PT) & (dots < high + _DOT_PT))
    covered = _both((lines > low) & (lines < high))
    price = 100.0 * over.sum(axis=1) + 40.0 * hidden.sum(axis=1)
    return np.asarray(price + _PRICE_PER_PT * _STEP_PT * (covered @ widths))


def _both(axes: Flags) -> Flags:
    """True of x and of y, along the last axis."""
    return np.asarray(axes[..., 0] & axes[..., 1])


@lru_cache(maxsize=256)
def _width_pt(text: str) -> float:
    """Width of a label: the same on each sheet."""
    return float(TextPath((0.0, 0.0), text, size=_SIZE_PT).get_extents().width)


def _dense(line: Floats) -> Floats:
    """The same polyline with points at even distances on it."""
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    at = np.arange(0.0, along[-1], _STEP_PT)
    return np.column_stack([np.interp(at, along, line[:, k]) for k in range(2)])
