"""Figures of a prediction: moment arms, and the curves of varied dimensions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from feltload.app.pages.axes import (
    DASHES,
    Dash,
    along_travel,
    end_labels,
    force_scale,
    from_zero,
    number_curves,
    travel_label,
    travel_scale,
)
from feltload.app.pages.canvas import BAND, INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.text.numbers import force_unit, listed, load_text
from feltload.app.text.predicted.prediction import ARMS_CAPTION
from feltload.app.text.predicted.variants import VARIED_CAPTION, variant_values, varied_names
from feltload.calibration import Prediction, Variant, Varied
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


def varied_figure(
    prediction: Prediction, varied: Sequence[Varied], variants: Sequence[Variant], load_index: int
) -> Drawing:
    """The curves of all variants at one load over the machine file's own, and below how they differ from it."""
    estimate = prediction.estimate
    own, half = estimate.static_n[load_index], estimate.static_u95_n[load_index]
    x = along_travel(estimate.travel.angle_rad, estimate.travel)
    places = [along_travel(each.travel.angle_rad, each.travel) for each in variants]
    styles = _styles(varied)
    few = len(variants) <= FEW

    def plot(figure: Figure, sheet: Sheet) -> None:
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.0, 0.8))
        upper.fill_between(x, own - half, own + half, color=BAND, lw=0)
        for each, at, (shade, dash) in zip(variants, places, styles, strict=True):
            upper.plot(at, each.static_n[load_index], color=shade, lw=1.4, ls=dash)
            by, sure = each.difference_n[load_index], each.differs[load_index]
            lower.plot(at, by, color=shade, lw=0.8, ls=dash, alpha=0.55)
            lower.plot(at, np.where(sure, by, np.nan), color=shade, lw=2.0, ls=dash)
        upper.plot(x, own, color=INK, lw=1.4, ls=(0, (4, 2)))
        lower.axhline(0.0, color=INK, lw=1.2, ls=(0, (4, 2)))
        frame(upper, sheet, x_label=None, y_label=f"force at the handle, {force_unit()}")
        frame(
            lower, sheet, x_label=travel_label(estimate.travel, sheet), y_label=f"difference, {force_unit()}"
        )
        from_zero(upper, [own, *(each.static_n[load_index] for each in variants)])
        differences = [each.difference_n[load_index] for each in variants]
        room = 1.12 * max(float(np.max(np.abs(differences))), 1.0)
        lower.set_ylim(-room if np.min(differences) < 0.0 else -0.2 * room, room)
        force_scale(lower)
        travel_scale(lower, estimate.travel)
        shades = [shade for shade, _ in styles]
        curves = list(zip(places, differences, strict=True))
        if few and sheet.wide:
            names = [", ".join(variant_values(each)) for each in variants]
            end_labels(
                lower, [(name, *curve) for name, curve in zip(names, curves, strict=True)], colours=shades
            )
        else:
            number_curves(lower, curves, colours=shades)

    load = load_text(float(estimate.loads_kg[load_index]))
    names = listed(list(varied_names(variants[0])))
    return draw(
        f"varied-{load_index}",
        f"Predicted force with {load} for {len(variants)} variants of the machine, and how they differ from it.",
        f"With {load}, for several values of {names}. {VARIED_CAPTION}",
        plot,
        height_factor=1.45,
    )


def _styles(varied: Sequence[Varied]) -> list[tuple[str, Dash]]:
    """A shade for each value of the first dimension, dark to light, and a dash for each combination of the others."""
    first, others = len(varied[0].values), math.prod(len(each.values) for each in varied[1:])
    if others > len(DASHES):
        first, others = first * others, 1
    shades = [
        mpl.colors.to_hex(mpl.colormaps["viridis"](share)) for share in np.linspace(DARKEST, LIGHTEST, first)
    ]
    return [(shade, DASHES[k]) for shade in shades for k in range(others)]
