"""Figures of a design: the force today and as proposed with what the targets allow, and the drawing over today's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.axes import along_travel, force_beside, from_zero, travel_label, travel_scale
from feltload.app.pages.canvas import MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.text.numbers import force_unit, load_text
from feltload.app.text.proposed.proposal import CURVES_CAPTION, DRAWING_CAPTION
from feltload.calibration import Machine, PlacedTarget, side_view
from feltload.core import Floats
from feltload.signal import Travel

_BEYOND_N = 1e5
"""A side without a limit goes on beyond every figure."""


@dataclass(frozen=True)
class ShownCurve:
    """Force at one load along the travel, (n,) each; today's where there is one; targets placed on the same angles."""

    load_kg: float
    today_n: Floats | None
    proposed_n: Floats
    placed: tuple[PlacedTarget, ...]


def curves_figure(curves: Sequence[ShownCurve], travel: Travel) -> Drawing:
    """One panel for each load."""
    x = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        rows = figure.subplots(len(curves), 1, sharex=True, squeeze=False)[:, 0]
        for axes, curve in zip(rows, curves, strict=True):
            _panel(axes, curve, x, travel)
            frame(axes, sheet, x_label=None, y_label=f"force with {load_text(curve.load_kg)}, {force_unit()}")
            shown = [curve.proposed_n] if curve.today_n is None else [curve.today_n, curve.proposed_n]
            from_zero(axes, shown)
            axes.legend(loc="best", handlelength=2.4)
            force_beside(axes, sheet)
        travel_scale(rows[-1], travel)
        rows[-1].set_xlabel(travel_label(travel, sheet))

    return draw(
        "curves",
        "Force at the handle along the travel, today and as proposed, with what the targets allow.",
        CURVES_CAPTION,
        plot,
        height_factor=0.35 + 0.65 * len(curves),
        narrow_height_factor=0.35 + 0.65 * len(curves),
    )


def _panel(axes: Axes, curve: ShownCurve, x: Floats, travel: Travel) -> None:
    for placed in curve.placed:
        at = along_travel(placed.at_rad, travel)
        allowed = placed.limits_n(np.interp(placed.at_rad, travel.angle_rad, curve.proposed_n))
        low, high = (np.clip(edge, -_BEYOND_N, _BEYOND_N) for edge in allowed)
        if placed.target.between and at.size > 1:
            axes.fill_between(at, low, high, color=QUIET, alpha=0.3, lw=0)
        else:
            axes.vlines(at, low, high, color=QUIET, lw=6, alpha=0.5)
    if curve.today_n is not None:
        axes.plot(x, curve.today_n, color=MODEL, lw=1.8, ls=(0, (5, 2)), label="today")
    axes.plot(x, curve.proposed_n, color=MEASURED, lw=2.2, label="proposed")


def machines_figure(today: Machine, proposed: Machine, travel_rad: float, load_kg: float) -> Drawing:
    """The proposed machine over today's."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        for stroke in today.mechanism.outline(0.0, today.values):
            if stroke.radius is None:
                axes.plot(*stroke.points.T, color=MODEL, lw=5.0, alpha=0.3, solid_capstyle="round")
        frames = today.mechanism.frames(np.zeros(1), today.values)
        for rider in today.riders:
            path = frames[rider.on or today.mechanism.links[0]].point(*rider.anchor(today.values))
            axes.plot(*path.position[0], marker="o", ms=13, mfc="none", mec=MODEL, mew=1.6, alpha=0.7)
        side_view(axes, proposed, travel_rad=travel_rad, load_kg=load_kg, load_label=load_text(load_kg))

    return draw(
        "machine",
        f"Side view of {proposed.name} as proposed, over today's.",
        DRAWING_CAPTION,
        plot,
    )
