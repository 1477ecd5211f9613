"""Axes of the pages' figures: their scales, and the names at the ends of curves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator

from feltload.app.pages.canvas import INK, QUIET, Sheet
from feltload.app.text.numbers import ForceUnit, force_unit
from feltload.app.text.position import axis_label, tick_text
from feltload.core import Floats
from feltload.signal import Travel

LABEL_PITCH_PT = 10.0
"""Least distance between two names at the ends of curves."""


NEAR_END = 0.06
"""Curves that end within this part of the axis from its end have their names in one column."""


Dash = str | tuple[int, tuple[float, ...]]

DASHES: tuple[Dash, ...] = (
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


QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)


SHARED_LABELS = {
    "handle": "handle travel from the start stop, cm",
    "travel": "part of the measured travel, %",
    "angle": "lever angle above horizontal, °",
}
"""What the axis of curves of several machines is, by what counts as the same position."""


def along_travel(angle_rad: Floats, travel: Travel) -> Floats:
    """Where positions lie on an axis of the travel: percent of it, shape (n,)."""
    return 100.0 * travel.shares(angle_rad)


def travel_scale(axes: Axes, travel: Travel) -> None:
    """Number an axis of the travel by its quarters; below each the handle's way and the angle, where there are any."""
    axes.set_xlim(0.0, 100.0)
    at = [travel.at_share(share) for share in QUARTERS]
    axes.set_xticks([100.0 * share for share in QUARTERS], [tick_text(angle, travel) for angle in at])


def travel_label(travel: Travel, sheet: Sheet) -> str:
    """What the rows of numbers below an axis of the travel are, top to bottom."""
    return axis_label(travel, wide=sheet.wide)


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
    axes.set_title(str(unit), loc="right", fontsize=sheet.font_pt, color=QUIET, y=1.0, pad=7)
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


def number_curves(axes: Axes, curves: Sequence[tuple[Floats, Floats]], *, colours: Sequence[str]) -> None:
    """Number each curve (x, y) on its line, from 1, at places that differ from its neighbours'."""
    for k, ((x, y), colour) in enumerate(zip(curves, colours, strict=True)):
        known = np.isfinite(y)
        low, high = float(x[known][0]), float(x[known][-1])
        # Steps of the golden ratio never fall on one another.
        at = low + (high - low) * (0.06 + 0.88 * ((0.381966 * k) % 1.0))
        axes.text(
            at,
            float(np.interp(at, x[known], y[known])),
            str(k + 1),
            color=colour,
            fontsize="small",
            fontweight="bold",
            ha="center",
            va="center",
            bbox={"boxstyle": "round,pad=0.12", "fc": "white", "ec": "none"},
        )


def covered(curve: Floats) -> Floats:
    return np.asarray(curve[np.isfinite(curve)])
