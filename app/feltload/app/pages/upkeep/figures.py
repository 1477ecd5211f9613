"""Figures of a machine over time: friction along the travel with what changed, and each measurement of the log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.axes import (
    DASHES,
    along_travel,
    end_labels,
    force_scale,
    from_zero,
    travel_label,
    travel_scale,
)
from feltload.app.pages.behind import curve_words, table_along
from feltload.app.pages.canvas import INK, MEASURED, MODEL, QUIET, Drawing, FigureTable, Sheet, draw, frame
from feltload.app.text.numbers import MISSING, force_unit, force_with_band, load_text
from feltload.coaching import CurveDifference, UncertainCurve
from feltload.core import runs_of_true
from feltload.signal import Travel

BAND_ALPHA = 0.2
SHADES = (MEASURED, MODEL, "#4a5560")


@dataclass(frozen=True)
class NamedCurve:
    """Friction at one measurement, along the angles of the latest."""

    label: str
    curve: UncertainCurve


@dataclass(frozen=True)
class NamedChange:
    """Friction now minus friction at an earlier measurement, likewise."""

    label: str
    change: CurveDifference


@dataclass(frozen=True)
class LoggedPoint:
    """Mean friction (N) of one measurement with one load."""

    measured: str
    load_kg: float
    value_n: float
    u95_n: float


def friction_figure(
    key: str, title: str, travel: Travel, curves: Sequence[NamedCurve], changes: Sequence[NamedChange]
) -> Drawing:
    """Friction along the travel, at every measurement that is compared; below, what changed.

    Parameters
    ----------
    key, title : str
        Of the figure: prefix of its ids, and what the caption begins with.
    travel : Travel
        Of the latest measurement.
    curves : sequence of NamedCurve
        The latest first.
    changes : sequence of NamedChange
    """

    def plot(figure: Figure, sheet: Sheet) -> None:
        if changes:
            top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[1.7, 1.0])
        else:
            top, bottom = figure.subplots(), None
        for named, colour, dash in zip(curves, SHADES, DASHES, strict=False):
            x, curve = along_travel(named.curve.angle_rad, travel), named.curve
            top.fill_between(
                x, curve.values - curve.u95, curve.values + curve.u95, color=colour, alpha=BAND_ALPHA, lw=0
            )
            top.plot(x, curve.values, color=colour, ls=dash, lw=1.9)
        x_label = travel_label(travel, sheet)
        frame(
            top,
            sheet,
            x_label=None if changes else x_label,
            y_label=f"friction at the handle, {force_unit()}",
        )
        from_zero(top, [named.curve.values + named.curve.u95 for named in curves])
        end_labels(
            top,
            [
                (named.label, along_travel(named.curve.angle_rad, travel), named.curve.values)
                for named in curves
            ],
            colours=SHADES[: len(curves)],
        )
        if bottom is None:
            travel_scale(top, travel)
            return
        for each, colour, dash in zip(changes, SHADES[1:], DASHES[1:], strict=False):
            x, change = along_travel(each.change.angle_rad, travel), each.change
            low, high = change.values - change.curve_u95, change.values + change.curve_u95
            bottom.fill_between(x, low, high, color=colour, alpha=BAND_ALPHA, lw=0)
            bottom.plot(x, change.values, color=colour, ls=dash, lw=1.6)
        bottom.axhline(0.0, color=QUIET, lw=0.9)
        _mark(bottom, changes, travel)
        frame(bottom, sheet, x_label=x_label, y_label=f"more (above 0) or less than before, {force_unit()}")
        force_scale(bottom, steps=5)
        travel_scale(bottom, travel)

    below = (
        " Below: what changed since, with the band that holds all such changes together along the travel in 95 % of "
        "cases; a bar at the foot where friction rose or fell by more."
        if changes
        else ""
    )
    told = "; ".join(f"{n.label}: {curve_words(travel, n.curve.angle_rad, n.curve.values)}" for n in curves)
    columns = []
    for n in curves:
        columns += [
            (n.label, n.curve.angle_rad, n.curve.values),
            (f"{n.label} ±", n.curve.angle_rad, n.curve.u95),
        ]
    for c in changes:
        columns += [
            (f"change since {c.label}", c.change.angle_rad, c.change.values),
            (f"change since {c.label} ±", c.change.angle_rad, c.change.curve_u95),
        ]
    return draw(
        key,
        f"{title} along the travel. {told}.",
        f"{title}: half of the gap between raising and lowering slowly, with its 95 % band.{below}",
        plot,
        height_factor=1.25 if changes else 0.9,
        table=table_along(travel, columns),
    )


def _mark(axes: Axes, changes: Sequence[NamedChange], travel: Travel) -> None:
    low, high = axes.get_ylim()
    foot = low - 0.08 * (high - low)
    axes.set_ylim(low - 0.14 * (high - low), high)
    for each in changes:
        x = along_travel(each.change.angle_rad, travel)
        for begin, stop in runs_of_true(each.change.established):
            axes.plot(x[[begin, stop - 1]], [foot, foot], color=INK, lw=3.0, solid_capstyle="butt")


def log_figure(points: Sequence[LoggedPoint], *, key: str) -> Drawing | None:
    """Mean friction at each load over the measurements of the log; None where there is one date alone."""
    loads = sorted({point.load_kg for point in points})
    if len({point.measured for point in points}) < 2:
        return None

    def plot(figure: Figure, sheet: Sheet) -> None:
        from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num

        axes = figure.subplots()
        named, tops = [], []
        for number, load in enumerate(loads):
            own = sorted((p for p in points if p.load_kg == load), key=lambda p: p.measured)
            days = [datetime.fromisoformat(p.measured) for p in own]
            x = np.asarray(date2num(days))  # type: ignore[no-untyped-call]
            y, u95 = np.array([p.value_n for p in own]), np.array([p.u95_n for p in own])
            colour = SHADES[number % len(SHADES)]
            axes.errorbar(
                x,
                y,
                yerr=u95,
                color=colour,
                ls=DASHES[number % len(DASHES)],
                lw=1.0,
                marker="o",
                ms=4,
                capsize=3,
            )
            named.append((load_text(load), x, y))
            tops.append(y + u95)
        locator = AutoDateLocator(maxticks=6 if sheet.wide else 4)  # type: ignore[no-untyped-call]
        axes.xaxis.set_major_locator(locator)
        axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]
        frame(axes, sheet, x_label=None, y_label=f"mean friction at the handle, {force_unit()}")
        axes.margins(x=0.06)
        axes.autoscale(axis="x")
        from_zero(axes, tops)
        end_labels(axes, named, colours=[SHADES[k % len(SHADES)] for k in range(len(loads))])

    days = sorted({point.measured for point in points})
    found = {(p.measured, p.load_kg): force_with_band(p.value_n, p.u95_n) for p in points}
    rows = tuple((day[:10], *(found.get((day, load), MISSING) for load in loads)) for day in days)
    return draw(
        key,
        f"Mean friction over {len(days)} measurements. " + "; ".join(" ".join(row) for row in rows) + ".",
        "Mean friction over the measured travel at each measurement of the log, with its 95 % interval. Temperature, "
        "lubrication and tempo move it too.",
        plot,
        height_factor=0.75,
        table=FigureTable(("Measured", *(load_text(load) for load in loads)), rows),
    )
