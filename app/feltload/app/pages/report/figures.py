"""Figures of the report, drawn from plain arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

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
from feltload.app.pages.canvas import (
    BAND,
    INK,
    MEASURED,
    Drawing,
    Sheet,
    draw,
    frame,
)
from feltload.app.pages.report.curves import LoadCurves
from feltload.app.text.machine.profile import FRICTION_BAND, PROFILE_BAND
from feltload.app.text.numbers import force_unit, short_force
from feltload.app.text.position import short_position
from feltload.core import Floats
from feltload.signal import TightSpot, Travel


def profile_figure(travel: Travel, loads: Sequence[LoadCurves], *, shaded: str = PROFILE_BAND) -> Drawing:
    """Static profile with its band, which `shaded` says the meaning of, and slow raising and lowering around it."""

    at = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        for load in loads:
            band(axes, at, load.static_n, load.u95_n, color=BAND)
            if load.separated:
                axes.plot(at, load.raising_n, color=MEASURED, lw=1.0, ls=(0, (5, 2)))
                axes.plot(at, load.lowering_n, color=MEASURED, lw=1.0, ls=(0, (1, 1.6)))
            axes.plot(at, load.static_n, color=MEASURED, lw=2.2)
            _peak(axes, sheet, travel, load)
        # On a phone the names would run into those of the next load; the caption says the same.
        if loads[-1].separated and (sheet.wide or len(loads) == 1):
            _name_lines(axes, at, loads[-1])
        frame(
            axes, sheet, x_label=travel_label(travel, sheet), y_label=f"force at the handle, {force_unit()}"
        )
        from_zero(axes, [curve for load in loads for curve in (load.raising_n, load.lowering_n)])
        travel_scale(axes, travel)
        force_beside(axes, sheet)

    words = "; ".join(_in_words(travel, load) for load in loads)
    both = any(load.separated for load in loads)
    ways = "Dashed: raising slowly. Dotted: lowering slowly. " if both else ""
    return draw(
        "profile",
        f"Resistance profile over the travel. {words}.",
        f"Solid: force to hold the handle still. {ways}"
        f"Shaded: {shaded} (where it is narrower than the line, it hides behind it).",
        plot,
        table=table_along(
            travel,
            [
                (f"{load.label}{name}", travel.angle_rad, values)
                for load in loads
                for name, values in (("", load.static_n), (" ±", load.u95_n), *_ways(load))
            ],
        ),
    )


def friction_figure(
    travel: Travel, all_loads: Sequence[LoadCurves], *, shaded: str = FRICTION_BAND
) -> Drawing | None:
    """Half of the gap between raising and lowering; None where it was not separated with any load."""
    loads = [load for load in all_loads if load.separated]
    if not loads:
        return None

    at = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        for index, load in enumerate(loads):
            band(axes, at, load.friction_n, load.friction_u95_n, color=BAND)
            axes.plot(at, load.friction_n, color=MEASURED, lw=1.8, ls=DASHES[index % len(DASHES)])
        frame(
            axes,
            sheet,
            x_label=travel_label(travel, sheet),
            y_label=f"friction at the handle, {force_unit()}",
        )
        from_zero(axes, [load.friction_n + np.nan_to_num(load.friction_u95_n) for load in loads])
        travel_scale(axes, travel)
        end_labels(axes, [(load.label, at, load.friction_n) for load in loads])
        for spot in loads[-1].spots:
            _spot(axes, sheet, travel, spot)

    return draw(
        "friction",
        "Friction at the handle over the travel. "
        + "; ".join(
            f"{load.label}: {curve_words(travel, travel.angle_rad, load.friction_n)}" for load in loads
        )
        + ".",
        "Friction: half of the gap between raising and lowering slowly, added when raising and taken off "
        f"when lowering. Shaded: {shaded}.",
        plot,
        table=table_along(
            travel,
            [
                (f"{load.label}{name}", travel.angle_rad, values)
                for load in loads
                for name, values in (("", load.friction_n), (" ±", load.friction_u95_n))
            ],
        ),
        height_factor=0.62,
    )


def _ways(load: LoadCurves) -> tuple[tuple[str, Floats], ...]:
    return ((" raising", load.raising_n), (" lowering", load.lowering_n)) if load.separated else ()


def _in_words(travel: Travel, load: LoadCurves) -> str:
    return f"{load.label}: {curve_words(travel, travel.angle_rad, load.static_n)}"


def band(axes: Axes, x: Floats, y: Floats, half_width: Floats, *, color: str) -> None:
    axes.fill_between(x, y - half_width, y + half_width, color=color, lw=0.0)


def _peak(axes: Axes, sheet: Sheet, travel: Travel, load: LoadCurves) -> None:
    top = int(np.nanargmax(load.static_n))
    where_rad = float(travel.angle_rad[top])
    x, y = 100.0 * travel.share(where_rad), float(load.static_n[top])
    axes.plot([x], [y], marker="o", ms=5, mfc="white", mec=MEASURED, mew=1.6)
    # Centred, a label near an end of the travel would run into the axis of a phone's figure.
    side = "left" if x < 35.0 else "right" if x > 65.0 else "center"
    axes.annotate(
        f"{load.label}: {short_force(y)} at {short_position(where_rad, travel)}",
        (x, float(load.raising_n[top])),
        xytext=({"left": 5, "right": -5, "center": 0}[side], 6),
        textcoords="offset points",
        ha=side,
        va="bottom",
        fontweight="bold",
        fontsize=sheet.font_pt,
        color=INK,
    )


def _spot(axes: Axes, sheet: Sheet, travel: Travel, spot: TightSpot) -> None:
    """Mark a place that stands out, its name on the roomier side."""
    x = 100.0 * travel.share(spot.angle_rad)
    late = x > 50.0
    axes.plot([x], [spot.friction_n], marker="o", ms=5, mfc="white", mec=MEASURED, mew=1.6)
    axes.annotate(
        f"{short_force(spot.friction_n)} at {short_position(spot.angle_rad, travel)}",
        (x, spot.friction_n),
        xytext=(-8 if late else 8, 0),
        textcoords="offset points",
        ha="right" if late else "left",
        va="center",
        fontweight="bold",
        fontsize=sheet.font_pt,
        color=INK,
    )


def _name_lines(axes: Axes, at: Floats, load: LoadCurves) -> None:
    """Name raising, still and lowering at the curves themselves, on their emptier side."""
    place = _quiet_index(load.static_n)
    rising_end = place > len(at) // 2
    for curve, text, offset, va in (
        (load.raising_n, "raising", 7, "bottom"),
        (load.lowering_n, "lowering", -7, "top"),
    ):
        axes.annotate(
            text,
            (float(at[place]), float(curve[place])),
            xytext=(4 if rising_end else -4, offset),
            textcoords="offset points",
            ha="left" if (rising_end and offset > 0) else "right" if rising_end else "center",
            va=va,
            color=MEASURED,
        )


def _quiet_index(curve: Floats) -> int:
    """Index at a quarter or three quarters of the travel, whichever is further below the peak."""
    quarter, three = len(curve) // 4, (3 * len(curve)) // 4
    return quarter if curve[quarter] <= curve[three] else three
