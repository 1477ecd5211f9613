"""Axes of the pages' figures: their scales, and the names at the ends of curves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator

from feltload.app.pages.canvas import INK, QUIET, Sheet
from feltload.app.text.numbers import ForceUnit, force_unit, plain_degrees
from feltload.core import Floats

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
    force_scale(axes)


TRAVEL_LABEL = "part of the travel, and the angle of the handle line"
QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)


def travel_scale(axes: Axes, low_deg: float, high_deg: float) -> None:
    """Number an axis in degrees by quarters of the travel, the angle below each."""
    axes.set_xlim(low_deg, high_deg)
    at = [low_deg + share * (high_deg - low_deg) for share in QUARTERS]
    names = [
        f"{100.0 * share:.0f} %\n{plain_degrees(angle)}" for share, angle in zip(QUARTERS, at, strict=True)
    ]
    axes.set_xticks(at, names)


class _InUnit(MaxNLocator):
    """Round numbers of a unit, on an axis in newtons."""

    def __init__(self, unit: ForceUnit, steps: int) -> None:
        super().__init__(steps)
        self._unit_n = unit.newtons

    def tick_values(self, vmin: float, vmax: float) -> Sequence[float]:
        return [self._unit_n * tick for tick in super().tick_values(vmin / self._unit_n, vmax / self._unit_n)]


def force_scale(axes: Axes, unit: ForceUnit | None = None, *, steps: int = 6) -> None:
    """Number an axis in newtons by the unit in which forces are written."""
    unit = unit or force_unit()
    axes.yaxis.set_major_locator(_InUnit(unit, steps))
    axes.yaxis.set_major_formatter(
        FuncFormatter(lambda force_n, _: f"{force_n / unit.newtons:.6g}".replace("-", "−"))
    )


def force_beside(axes: Axes, sheet: Sheet) -> None:
    """The other unit on the right-hand side, for readers who do not think in the first."""
    if not sheet.wide:
        return
    unit = force_unit().beside
    side = axes.twinx()
    side.set_ylim(axes.get_ylim())
    side.grid(visible=False)
    force_scale(side, unit)
    axes.set_title(str(unit), loc="right", fontsize=sheet.font_pt, color=QUIET, pad=7)
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
