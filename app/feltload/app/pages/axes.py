"""Axes of the pages' figures: their scales, and the names at the ends of curves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from feltload.app.pages.canvas import INK, QUIET, Sheet
from feltload.core import STANDARD_GRAVITY_M_S2, Floats

LABEL_PITCH_PT = 10.0
"""Least distance between two names at the ends of curves."""


NEAR_END = 0.06
"""Curves that end within this part of the axis from its end have their names in one column."""


ANGLE_LABEL = "angle of the handle line above horizontal, °"


DASHES: tuple[str | tuple[int, tuple[float, ...]], ...] = (
    "solid",
    (0, (5, 2)),
    (0, (1, 1.5)),
    (0, (6, 2, 1, 2)),
)


def from_zero(axes: Axes, curves: Sequence[Floats]) -> None:
    low = min(0.0, *(float(np.nanmin(curve)) for curve in curves))
    high = max(float(np.nanmax(curve)) for curve in curves)
    axes.set_ylim(low * 1.1, high * 1.16 if high > 0.0 else 1.0)
    axes.yaxis.set_major_locator(MaxNLocator(6))


def kgf_axis(axes: Axes, sheet: Sheet) -> None:
    """Kilogram-force on the right-hand side, for readers who do not think in newtons."""
    if not sheet.wide:
        return
    low, high = axes.get_ylim()
    side = axes.twinx()
    side.set_ylim(low / STANDARD_GRAVITY_M_S2, high / STANDARD_GRAVITY_M_S2)
    side.grid(visible=False)
    side.yaxis.set_major_locator(MaxNLocator(6))
    axes.set_title("kgf", loc="right", fontsize=sheet.font_pt, color=QUIET, pad=7)
    side.tick_params(length=2.5, width=0.6, colors=QUIET)
    side.spines["right"].set_visible(False)


def end_labels(
    axes: Axes, curves: Sequence[tuple[str, Floats, Floats]], *, colours: Sequence[str] = ()
) -> None:
    """Name each curve (name, x, y) at its right end; where two ends nearly meet, their names move apart.

    Call it on axes that are framed and have their limits.
    """
    shades = colours or [INK] * len(curves)
    ends = sorted(
        (float(covered(y)[-1]), float(x[np.isfinite(y)][-1]), label, colour)
        for (label, x, y), colour in zip(curves, shades, strict=True)
    )
    left, right = axes.get_xlim()
    low, high = axes.get_ylim()
    height_pt = axes.get_window_extent().height * 72.0 / axes.figure.dpi
    shift_pt, last_pt = 0.0, -np.inf
    for value, x, label, colour in ends:
        at_pt = (value - low) / (high - low) * height_pt
        shift_pt = max(0.0, last_pt + LABEL_PITCH_PT - at_pt)
        last_pt = at_pt + shift_pt
        axes.annotate(
            label,
            (right if right - x < NEAR_END * (right - left) else x, value),
            xytext=(3, shift_pt),
            textcoords="offset points",
            va="center",
            fontweight="bold",
            color=colour,
            annotation_clip=False,
        )


def covered(curve: Floats) -> Floats:
    return np.asarray(curve[np.isfinite(curve)])
