"""Figure of a measured profile beside what the machine file predicts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.axes import DASHES, along_travel, end_labels, from_zero, travel_label, travel_scale
from feltload.app.pages.behind import curve_words, table_along
from feltload.app.pages.canvas import (
    BAND,
    INK,
    MEASURED,
    MODEL,
    MODEL_BAND,
    QUIET,
    Drawing,
    Sheet,
    draw,
    frame,
)
from feltload.app.pages.report.curves import LoadCurves
from feltload.app.pages.report.figures import band
from feltload.app.text.numbers import force_unit
from feltload.core import Floats
from feltload.signal import Travel


def agreement_figure(
    travel: Travel, loads: Sequence[LoadCurves], *, en_limit: float, score: float
) -> Drawing:
    """Measured profile against the machine file's prediction; E_n with its limit, and the deciding score, below."""

    at = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[2.4, 1.0])
        for load in loads:
            if load.model_n is None or load.model_u95_n is None or load.en is None:
                continue
            top.fill_between(
                at,
                load.model_n - load.model_u95_n,
                load.model_n + load.model_u95_n,
                facecolor="none",
                edgecolor=MODEL_BAND,
                hatch="/////",
                lw=0.0,
                alpha=0.45,
            )
            band(top, at, load.static_n, load.u95_n, color=BAND)
            top.plot(at, load.static_n, color=MEASURED, lw=2.2)
            top.plot(at, load.model_n, color=MODEL, lw=1.6, ls=(0, (6, 2)))
        _name_model(top, at, loads[-1])
        frame(top, sheet, x_label=None, y_label=f"force at the handle, {force_unit()}")
        from_zero(top, [load.static_n for load in loads] + [_upper(load) for load in loads])
        travel_scale(top, travel)
        _load_names(top, at, loads)
        y_label = f"Eₙ with its limits; score {score:.2f}, limit 1"
        frame(bottom, sheet, x_label=travel_label(travel, sheet), y_label=y_label)
        travel_scale(bottom, travel)
        _scores(bottom, at, loads, en_limit)

    words = "; ".join(
        f"{load.label}: measured {curve_words(travel, travel.angle_rad, load.static_n)}; "
        f"machine file {curve_words(travel, travel.angle_rad, load.model_n)}"
        for load in loads
        if load.model_n is not None
    )
    return draw(
        "agreement",
        f"Measured resistance profile and the prediction from the machine file. {words}. Below: their difference "
        f"in units of the combined uncertainty; the score is {score:.2f}, its limit 1.",
        "Solid with shading: measured, 95 % band. Dashed with hatching: predicted from the machine file, "
        "95 % band. Below: their difference divided by both bands together (E_n), with the limits that hold for the "
        "whole curve at once.",
        plot,
        table=table_along(
            travel,
            [
                (f"{load.label} {name}", travel.angle_rad, values)
                for load in loads
                for name, values in (
                    ("measured", load.static_n),
                    ("±", load.u95_n),
                    ("machine file", load.model_n),
                    ("machine file ±", load.model_u95_n),
                )
                if values is not None
            ],
        ),
        height_factor=1.25,
    )


def _upper(load: LoadCurves) -> Floats:
    if load.model_n is None or load.model_u95_n is None:
        return load.static_n
    return np.asarray(load.model_n + load.model_u95_n)


def _name_model(axes: Axes, at: Floats, load: LoadCurves) -> None:
    if load.model_n is None:
        return
    # Where the curve is flat a name beside it does not run into it.
    place = int(np.nanargmax(load.static_n))
    measured_above = bool(load.static_n[place] >= load.model_n[place])
    for curve, text, above, color in (
        (load.static_n, "measured", measured_above, MEASURED),
        (load.model_n, "machine file", not measured_above, MODEL),
    ):
        axes.annotate(
            text,
            (float(at[place]), float(curve[place])),
            xytext=(0, 9 if above else -9),
            textcoords="offset points",
            ha="center",
            va="bottom" if above else "top",
            color=color,
        )


def _load_names(axes: Axes, at: Floats, loads: Sequence[LoadCurves]) -> None:
    end_labels(axes, [(load.label, at, load.static_n) for load in loads])


def _scores(axes: Axes, at: Floats, loads: Sequence[LoadCurves], limit: float) -> None:
    largest = limit
    for index, load in enumerate(loads):
        if load.en is None:
            continue
        axes.plot(at, load.en, color=INK, lw=1.4, ls=DASHES[index % len(DASHES)])
        largest = max(largest, float(np.nanmax(np.abs(load.en))))
    axes.axhspan(-limit, limit, color="#eef1f4", lw=0.0)
    for line in (-limit, limit):
        axes.axhline(line, color=QUIET, lw=0.8)
    axes.set_ylim(-1.15 * largest, 1.15 * largest)
    end_labels(axes, [(load.label, at, load.en) for load in loads if load.en is not None])
