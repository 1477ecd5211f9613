"""Figures of a comparison, drawn from plain arrays: a few curves over one another, many beside one another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.jobs.comparing.common_positions import By
from feltload.app.pages.axes import DASHES, SHARED_LABELS, Dash, covered, end_labels, from_zero
from feltload.app.pages.canvas import INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.pages.comparison.drawn import ComparedCurve, DifferenceCurve
from feltload.app.pages.comparison.quantity import Quantity
from feltload.app.pages.comparison.tables import curves_table
from feltload.core import runs_of_true

COLOURS = (MEASURED, MODEL, "#2c6e49", "#6d3b86", "#7a5c00", "#4a5560")
"""Each with a dash of its own, so that they part in grey too; dark enough on white for their names."""
LINES: tuple[Dash, ...] = (*DASHES, (0, (9, 2)), (0, (3, 1, 1, 1, 1, 1)))
BAND_ALPHA, CROWDED_ALPHA = 0.2, 0.1
CROWDED = 3
"""More bands over one another are drawn fainter."""
FEW = 6
"""Curves up to which all are drawn over one another; more have a panel each, beside the first."""
PANELS_WIDE, PANELS_NARROW = 5, 3
PANEL_IN = 1.08
"""Height of a panel."""
NAME_LETTERS = {True: 21, False: 17}
"""Of a name beside a curve or above a panel, on a wide sheet and on a narrow one."""


def comparison_figure(
    curves: Sequence[ComparedCurve],
    differences: Sequence[DifferenceCurve],
    *,
    quantity: Quantity,
    first: str,
    lead: str,
    by: By,
) -> Drawing:
    """All curves with the others minus the first.

    Parameters
    ----------
    curves : sequence of ComparedCurve
        The first's first.
    differences : sequence of DifferenceCurve
        Of the others, or none.
    quantity : Quantity
        What is drawn.
    first : str
        Name of the first.
    lead : str
        What the caption begins with, such as "With 40 kg".
    by : {"handle", "travel", "angle"}
        What the positions are.
    """
    described = (
        f"{quantity.noun} over the travel. {lead}: {'; '.join(_in_words(c, quantity) for c in curves)}."
    )
    table = curves_table(SHARED_LABELS[by], curves, differences, first=first, quantity=quantity)
    many = len(curves) > FEW
    plot = _beside if many else _over
    rows = [-(-len(curves) // columns) for columns in (PANELS_WIDE, PANELS_NARROW)]
    tall = 1.3 if differences else 1.0
    return draw(
        f"{quantity.key}-{lead}".lower().replace(" ", "-").replace(".", "-").replace(",", ""),
        described,
        f"{lead}. {quantity.caption} {_caption(many, bool(differences), first)}".strip(),
        lambda figure, sheet: plot(figure, sheet, curves, differences, quantity, first, by),
        height_factor=PANEL_IN * (rows[0] + 0.5) / 4.3 if many else tall,
        narrow_height_factor=PANEL_IN * (rows[1] + 0.5) / 3.9 if many else tall,
        table=table,
    )


def _caption(many: bool, differences: bool, first: str) -> str:
    if not many:
        below = (
            f" Below: the others minus {first}; where a band leaves out zero, they differ."
            if differences
            else ""
        )
        return f"Lines with their 95 % bands.{below}"
    bar = " Bar at the foot: where it differs from that by more than the bands." if differences else ""
    return f"Solid: each result with its 95 % band. Dotted in each panel: {first}.{bar} Numbers: as in the table."


def _over(
    figure: Figure,
    sheet: Sheet,
    curves: Sequence[ComparedCurve],
    differences: Sequence[DifferenceCurve],
    quantity: Quantity,
    first: str,
    by: By,
) -> None:
    if differences:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[2.0, 1.0])
    else:
        top, bottom = figure.subplots(), None
    styles = [(COLOURS[i % len(COLOURS)], LINES[i % len(LINES)]) for i in range(len(curves))]
    alpha = BAND_ALPHA if len(curves) <= CROWDED else CROWDED_ALPHA
    for curve, style in zip(curves, styles, strict=True):
        _banded(top, curve, *style, width=2.0, alpha=alpha)
    frame(top, sheet, x_label=SHARED_LABELS[by] if bottom is None else None, y_label=quantity.label)
    from_zero(top, [curve.values + curve.u95 for curve in curves])
    quantity.scale(top)
    end_labels(
        top,
        [(_short(c.label, sheet), c.x, c.values) for c in curves],
        colours=[colour for colour, _ in styles],
    )
    if bottom is None:
        return
    for gap, style in zip(differences, styles[1:], strict=True):
        _banded(bottom, gap, *style, width=1.6, alpha=alpha)
    bottom.axhline(0.0, color=QUIET, lw=0.9)
    low = min(0.0, *(float(np.nanmin(gap.values - gap.u95)) for gap in differences))
    high = max(0.0, *(float(np.nanmax(gap.values + gap.u95)) for gap in differences))
    bottom.set_ylim(low - 0.12 * (high - low), high + 0.12 * (high - low))
    frame(
        bottom,
        sheet,
        x_label=SHARED_LABELS[by],
        y_label=quantity.gap_label(first if sheet.wide else "the first"),
    )
    quantity.scale(bottom, steps=5)


def _beside(
    figure: Figure,
    sheet: Sheet,
    curves: Sequence[ComparedCurve],
    differences: Sequence[DifferenceCurve],
    quantity: Quantity,
    first: str,
    by: By,
) -> None:
    columns = PANELS_WIDE if sheet.wide else PANELS_NARROW
    rows = -(-len(curves) // columns)
    panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False).ravel()
    gaps = {gap.label: gap for gap in differences}
    small = 0.85 * sheet.font_pt
    for number, (axes, curve) in enumerate(zip(panels, curves, strict=False), start=1):
        if number > 1:
            axes.plot(curves[0].x, curves[0].values, color=QUIET, ls=(0, (1, 1.2)), lw=1.2)
        _banded(axes, curve, MEASURED, "solid", width=1.5)
        axes.set_title(f"{number} {_short(curve.label, sheet)}", loc="left", fontsize=small, color=INK, pad=3)
        axes.tick_params(length=2.0, width=0.5, labelsize=small)
        axes.margins(x=0.0)
    from_zero(panels[0], [curve.values + curve.u95 for curve in curves])
    quantity.scale(panels[0], steps=3)
    panels[0].xaxis.get_major_locator().set_params(nbins=3)
    low, high = panels[0].get_ylim()
    for axes, curve in zip(panels, curves, strict=False):
        gap = gaps.get(curve.label)
        for begin, stop in runs_of_true(gap.established) if gap is not None else ():
            where = gap.x[[begin, stop - 1]] if gap is not None else ()
            axes.plot(where, [low + 0.05 * (high - low)] * 2, color=INK, lw=3.0, solid_capstyle="butt")
    for axes in panels[len(curves) :]:
        axes.set_visible(False)
    for axes in panels[max(0, len(curves) - columns) : len(curves)]:
        axes.tick_params(labelbottom=True)
    figure.suptitle(quantity.label, x=0.0, ha="left", fontsize=sheet.font_pt, color=QUIET)
    figure.supxlabel(SHARED_LABELS[by], fontsize=sheet.font_pt)


def _banded(
    axes: Axes,
    curve: ComparedCurve | DifferenceCurve,
    colour: str,
    dash: Dash,
    *,
    width: float,
    alpha: float = BAND_ALPHA,
) -> None:
    band = curve.values - curve.u95, curve.values + curve.u95
    axes.fill_between(curve.x, *band, color=colour, alpha=alpha, lw=0)
    axes.plot(curve.x, curve.values, color=colour, ls=dash, lw=width)


def _short(name: str, sheet: Sheet) -> str:
    """A name that leaves room for curves; the table has it whole."""
    most = NAME_LETTERS[sheet.wide]
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"


def _in_words(curve: ComparedCurve, quantity: Quantity) -> str:
    known = covered(curve.values)
    return (
        f"{curve.label}: from {quantity.said(float(known[0]))} at the start to "
        f"{quantity.said(float(known[-1]))} at the end, at most {quantity.said(float(known.max()))}"
    )
