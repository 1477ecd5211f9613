"""Figures of a survey: the predicted force with its band, and its change by each dimension along the travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import ScaledTranslation

from feltload.app.pages.axes import (
    DASHES,
    along_travel,
    end_labels,
    force_beside,
    from_zero,
    travel_label,
    travel_scale,
)
from feltload.app.pages.behind import curve_words, table_along
from feltload.app.pages.canvas import BAND, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.text.machine.dimensions import dimension_name
from feltload.app.text.machine.survey import BAND_CAPTION, SENSITIVITY_CAPTION, per_unit_label
from feltload.app.text.numbers import force_unit, load_text, short_force
from feltload.app.text.position import tick_text
from feltload.calibration import SurveyItem, SurveyPlan
from feltload.core import Floats
from feltload.signal import Travel

SHADES: Final = (MEASURED, MODEL, "#2c6e49", "#6d3b86")
"""One for each dash, dark enough on white for the names."""
TICK_ROW_IN: Final = 0.14
LABEL_IN: Final = 0.3
"""Heights of a row of an axis' numbers, and of its label with the gaps around it, on a phone."""
HUNDREDTH: Final = 0.01
FEWEST: Final = 3
"""Dimensions that are drawn even where none of them matters much."""


@dataclass(frozen=True)
class Panel:
    """Dimensions of one unit: what one unit more does to the force, (label, newtons (n,)) each."""

    unit: str
    curves: tuple[tuple[str, Floats], ...]


def sensitivity_panels(plan: SurveyPlan) -> tuple[Panel, ...]:
    """The dimensions that matter most, by unit; lines of one panel part by their dashes."""
    mattering = [item for item in plan.items if item.matters] or list(plan.items[:FEWEST])
    by_unit = sorted(mattering, key=lambda item: item.parameter.unit)
    panels = [
        Panel(unit, _curves(list(items)[: len(DASHES)]))
        for unit, items in groupby(by_unit, key=lambda item: item.parameter.unit)
    ]
    return tuple(sorted(panels, key=lambda panel: -len(panel.curves)))


def predicted_figure(plan: SurveyPlan, travel: Travel) -> Drawing:
    """The force at rest along the travel, with the band of the survey."""
    x = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        band = (plan.force_n - plan.u95_n, plan.force_n + plan.u95_n)
        axes.fill_between(x, *band, color=BAND, lw=0)
        for edge in band:
            axes.plot(x, edge, color=MEASURED, lw=0.7, ls=(0, (4, 2)))
        axes.plot(x, plan.force_n, color=MEASURED, lw=2.2)
        frame(
            axes, sheet, x_label=travel_label(travel, sheet), y_label=f"force at the handle, {force_unit()}"
        )
        from_zero(axes, [band[0], band[1]])
        travel_scale(axes, travel)
        force_beside(axes, sheet)

    load = load_text(plan.load_kg)
    return draw(
        "predicted",
        f"Predicted force at the handle with {load} along the travel: "
        f"{curve_words(travel, travel.angle_rad, plan.force_n)}; 95 % band up to "
        f"± {short_force(float(np.max(plan.u95_n)))}.",
        f"With {load}. {BAND_CAPTION}",
        plot,
        table=table_along(
            travel, [(load, travel.angle_rad, plan.force_n), ("±", travel.angle_rad, plan.u95_n)]
        ),
    )


def sensitivity_figure(plan: SurveyPlan, travel: Travel) -> Drawing:
    """What one unit more of each dimension does to the force, one panel for each unit."""
    panels = sensitivity_panels(plan)
    x = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        rows = figure.subplots(len(panels), 1, sharex=True, squeeze=False)[:, 0]
        for axes, panel in zip(rows, panels, strict=True):
            _plot_panel(axes, panel, x, sheet)
            if not sheet.wide:
                # Below the last one stand the axis' numbers, in rows, and their label.
                ticks = tick_text(float(travel.angle_rad[0]), travel).count("\n") + 1
                down_in = LABEL_IN + ticks * TICK_ROW_IN if axes is rows[-1] else 0.0
                axes.legend(
                    loc="upper center",
                    bbox_to_anchor=(0.5, 0.0),
                    bbox_transform=axes.transAxes + ScaledTranslation(0.0, -down_in, figure.dpi_scale_trans),
                    handlelength=3.2,
                    borderaxespad=0.1,
                )
        travel_scale(rows[-1], travel)
        rows[-1].set_xlabel(travel_label(travel, sheet))
        if sheet.wide:
            figure.canvas.draw()
            for axes, panel in zip(rows, panels, strict=True):
                shown = [(name, x, _in_unit(curve)) for name, curve in panel.curves]
                end_labels(axes, shown, colours=SHADES[: len(shown)])

    names = "; ".join(
        f"{name}: {curve_words(travel, travel.angle_rad, curve)}"
        for panel in panels
        for name, curve in panel.curves
    )
    return draw(
        "sensitivities",
        f"Change of the predicted force along the travel for one unit more of each dimension: {names}.",
        SENSITIVITY_CAPTION,
        plot,
        height_factor=0.25 + 0.42 * len(panels),
        narrow_height_factor=0.25 + 0.62 * len(panels),
    )


def _curves(items: Sequence[SurveyItem]) -> tuple[tuple[str, Floats], ...]:
    """Per unit, and per hundredth where a dimension has none."""
    return tuple(
        (dimension_name(p.key), item.effect_n_per_unit * (1.0 if p.unit else HUNDREDTH))
        for item in items
        for p in (item.parameter,)
    )


def _plot_panel(axes: Axes, panel: Panel, x: Floats, sheet: Sheet) -> None:
    axes.axhline(0.0, color=QUIET, lw=0.9)
    for (name, curve), colour, dash in zip(panel.curves, SHADES, DASHES, strict=False):
        axes.plot(x, _in_unit(curve), color=colour, ls=dash, lw=1.8, label=name)
    frame(axes, sheet, x_label=None, y_label=per_unit_label(panel.unit))
    every = np.concatenate([[0.0], *(_in_unit(curve) for _, curve in panel.curves)])
    low, high = float(every.min()), float(every.max())
    room = 0.12 * (high - low)
    axes.set_ylim(low - room, high + room)
    axes.locator_params(axis="y", nbins=5)


def _in_unit(force_n: Floats) -> Floats:
    return np.asarray(force_n / force_unit().newtons)
