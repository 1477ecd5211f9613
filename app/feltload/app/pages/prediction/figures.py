"""Figures of a prediction: moment arms, and the curves of varied dimensions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from feltload.app.pages.axes import (
    Dash,
    along_travel,
    end_labels,
    from_zero,
    number_curves,
    travel_label,
    travel_scale,
)
from feltload.app.pages.canvas import BAND, INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.text.machine.dimensions import dimension_name
from feltload.app.text.numbers import force_unit, listed, load_text
from feltload.app.text.predicted.prediction import ARMS_CAPTION, VARIED_CAPTION, variant_value
from feltload.calibration import Prediction, Variant
from feltload.core import Floats

FEW: Final = 6
"""Curves up to which each has its name at its end; more carry numbers, which a table explains."""
DARKEST, LIGHTEST = 0.05, 0.72
"""Part of the colour map that stands out on white, in grey too."""


def arms_figure(prediction: Prediction) -> Drawing:
    """Arms that the hand and the load work with."""
    travel, arms = prediction.estimate.travel, prediction.arms
    x = along_travel(travel.angle_rad, travel)
    curves: list[tuple[str, Floats, str, Dash]] = [("handle", 100.0 * arms.handle_m, MEASURED, "solid")]
    if np.any(arms.load_m):
        curves.append(("load", 100.0 * arms.load_m, MODEL, (0, (5, 2))))

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        axes.axhline(0.0, color=QUIET, lw=0.9)
        for _, arm, colour, dash in curves:
            axes.plot(x, arm, color=colour, ls=dash, lw=2.0)
        frame(axes, sheet, x_label=travel_label(travel, sheet), y_label="moment arm, cm")
        values = np.concatenate([arm for _, arm, _, _ in curves])
        low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
        axes.set_ylim(low - 0.05 * (high - low), high + 0.12 * (high - low))
        travel_scale(axes, travel)
        end_labels(axes, [(name, x, arm) for name, arm, _, _ in curves], colours=[c[2] for c in curves])

    return draw(
        "arms",
        "Moment arms of the handle and of the load over the travel.",
        ARMS_CAPTION,
        plot,
        height_factor=0.62,
    )


def varied_figure(prediction: Prediction, variants: Sequence[Variant], load_index: int) -> Drawing:
    """The curves of all variants at one load, over the machine file's own."""
    estimate = prediction.estimate
    own, half = estimate.static_n[load_index], estimate.static_u95_n[load_index]
    x = along_travel(estimate.travel.angle_rad, estimate.travel)
    shades = [
        mpl.colors.to_hex(mpl.colormaps["viridis"](share))
        for share in np.linspace(DARKEST, LIGHTEST, len(variants))
    ]
    curves = [
        (along_travel(each.travel.angle_rad, each.travel), each.static_n[load_index]) for each in variants
    ]
    few = len(variants) <= FEW

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        axes.fill_between(x, own - half, own + half, color=BAND, lw=0)
        for (at, force), shade in zip(curves, shades, strict=True):
            axes.plot(at, force, color=shade, lw=1.6)
        axes.plot(x, own, color=INK, lw=1.4, ls=(0, (4, 2)))
        frame(
            axes,
            sheet,
            x_label=travel_label(estimate.travel, sheet),
            y_label=f"force at the handle, {force_unit()}",
        )
        from_zero(axes, [own, *(force for _, force in curves)])
        travel_scale(axes, estimate.travel)
        if few and sheet.wide:
            names = [variant_value(each) for each in variants]
            end_labels(
                axes, [(name, *curve) for name, curve in zip(names, curves, strict=True)], colours=shades
            )
        else:
            number_curves(axes, curves, colours=shades)

    load = load_text(float(estimate.loads_kg[load_index]))
    varied = listed([dimension_name(key) for key in variants[0].values])
    numbers = "" if few else " Numbers: see the table."
    return draw(
        f"varied-{load_index}",
        f"Predicted force with {load} for {len(variants)} variants of the machine.",
        f"With {load}, for several values of {varied}. {VARIED_CAPTION}{numbers}",
        plot,
    )
