"""Figures of a comparison, drawn from plain arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from feltload.app.jobs.comparing.common_positions import By
from feltload.app.pages.axes import (
    DASHES,
    SHARED_LABELS,
    covered,
    end_labels,
    force_scale,
    from_zero,
    number_curves,
)
from feltload.app.pages.behind import table_over
from feltload.app.pages.canvas import MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.text.numbers import force_unit, load_text, short_force
from feltload.core import Floats

COLOURS = (MEASURED, MODEL, "#2c6e49", "#6d3b86", "#7a5c00", "#4a5560")
"""Each with a dash of its own, so that they part in grey too; dark enough on white for their names."""
BAND_ALPHA = 0.2
FEW = 6
"""Curves up to which each has its name and its band; more carry numbers on the line, which part them in grey too."""


@dataclass(frozen=True)
class ComparedCurve:
    """One result at one load: position, static force and half-width of its 95 % band, each (n,)."""

    label: str
    x: Floats
    force_n: Floats
    u95_n: Floats


@dataclass(frozen=True)
class DifferenceCurve:
    """One result minus the first: position, difference and half-width of the whole curve's 95 % band, each (n,)."""

    label: str
    x: Floats
    difference_n: Floats
    u95_n: Floats


def comparison_figure(
    curves: Sequence[ComparedCurve],
    differences: Sequence[DifferenceCurve],
    *,
    first: str,
    load_kg: float | None,
    by: By,
) -> Drawing:
    """All curves over one another; below, the others minus the first."""
    x_label = SHARED_LABELS[by]
    styles = [(COLOURS[i % len(COLOURS)], DASHES[i % len(DASHES)]) for i in range(len(curves))]
    few = len(curves) <= FEW

    def plot(figure: Figure, sheet: Sheet) -> None:
        if differences:
            top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[2.0, 1.0])
        else:
            top, bottom = figure.subplots(), None
        for curve, (colour, dash) in zip(curves, styles, strict=True):
            if few:
                top.fill_between(
                    curve.x,
                    curve.force_n - curve.u95_n,
                    curve.force_n + curve.u95_n,
                    color=colour,
                    alpha=BAND_ALPHA,
                    lw=0,
                )
            top.plot(curve.x, curve.force_n, color=colour, ls=dash, lw=2.0)
        frame(
            top,
            sheet,
            x_label=x_label if bottom is None else None,
            y_label=f"force at the handle, {force_unit()}",
        )
        from_zero(top, [curve.force_n + curve.u95_n for curve in curves])
        names = [(curve.label, curve.x, curve.force_n) for curve in curves]
        if few:
            end_labels(top, names, colours=[colour for colour, _ in styles])
        else:
            number_curves(top, [curve[1:] for curve in names], colours=[colour for colour, _ in styles])
        if bottom is None:
            return
        for gap, (colour, dash) in zip(differences, styles[1:], strict=True):
            band = (gap.difference_n - gap.u95_n, gap.difference_n + gap.u95_n)
            if few:
                bottom.fill_between(gap.x, *band, color=colour, alpha=BAND_ALPHA, lw=0)
            bottom.plot(gap.x, gap.difference_n, color=colour, ls=dash, lw=1.6)
        bottom.axhline(0.0, color=QUIET, lw=0.9)
        low = min(0.0, *(float(np.nanmin(gap.difference_n - gap.u95_n)) for gap in differences))
        high = max(0.0, *(float(np.nanmax(gap.difference_n + gap.u95_n)) for gap in differences))
        bottom.set_ylim(low - 0.12 * (high - low), high + 0.12 * (high - low))
        frame(
            bottom,
            sheet,
            x_label=x_label,
            y_label=f"heavier (above 0) or lighter than {first}, {force_unit()}",
        )
        force_scale(bottom, steps=5)

    banded = ", with its 95 % band" if few else ""
    numbered = "" if few else " Numbers: see the table. The sentences above take the bands into account."
    load = "each with its heaviest load" if load_kg is None else f"with {load_text(load_kg)}"
    apart = "where a band leaves out zero, they differ" if few else "where they differ is said above"
    below = f" Below: the others minus {first}; {apart}." if differences else ""
    return draw(
        f"compared-{'each' if load_kg is None else f'{load_kg:g}'.replace('.', '-')}",
        f"Force at the handle over the travel, {load}. {'; '.join(_in_words(curve) for curve in curves)}.",
        f"{load[0].upper()}{load[1:]}. Lines: the force to hold the handle still{banded}.{below}{numbered}",
        plot,
        height_factor=1.3 if differences else 1.0,
        table=table_over(
            x_label[0].upper() + x_label[1:],
            [
                *(
                    column
                    for curve in curves
                    for column in (
                        (curve.label, curve.x, curve.force_n),
                        (f"{curve.label} ±", curve.x, curve.u95_n),
                    )
                ),
                *(
                    column
                    for gap in differences
                    for column in (
                        (f"{gap.label} − {first}", gap.x, gap.difference_n),
                        (f"{gap.label} − {first} ±", gap.x, gap.u95_n),
                    )
                ),
            ],
        ),
    )


def _in_words(curve: ComparedCurve) -> str:
    force = covered(curve.force_n)
    return (
        f"{curve.label}: from {short_force(float(force[0]))} at the start to {short_force(float(force[-1]))} at the "
        f"end, at most {short_force(float(force.max()))}"
    )
