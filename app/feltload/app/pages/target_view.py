"""Targets on a page: verdicts with their words, and the curve between its limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.axes import along_travel, force_beside, from_zero, travel_label, travel_scale
from feltload.app.pages.canvas import BAND, MEASURED, MODEL, Drawing, Sheet, draw, frame
from feltload.app.text.numbers import force_unit, load_text
from feltload.app.text.predicted.target import (
    DECISION,
    describe_details,
    target_caption,
    target_name,
    verdict_word,
)
from feltload.calibration import Judgement, TargetVerdict
from feltload.core import Floats
from feltload.signal import ProfileEstimate

TONES = {
    TargetVerdict.MET: "good",
    TargetVerdict.NOT_MET: "bad",
    TargetVerdict.UNDETERMINED: "careful",
}
BAR = 1.2
"""Half the length of the ends of a bar at a single position, percent of the travel."""
STRIP, ARROW = 0.07, 0.12
"""How far a side without a limit is drawn, as a part of the axis."""


@dataclass(frozen=True)
class TargetRow:
    """One target at one load."""

    word: str
    tone: str
    text: str


@dataclass(frozen=True)
class TargetView:
    """All targets of a result."""

    rows: tuple[TargetRow, ...]
    figures: tuple[Drawing, ...]
    decision: str = DECISION


def target_view(estimate: ProfileEstimate, judgements: Sequence[Judgement]) -> TargetView | None:
    """Put targets into words and figures; None where there are none."""
    if not judgements:
        return None
    travel = estimate.travel
    rows = tuple(
        TargetRow(
            verdict_word(each),
            TONES[each.verdict],
            f"{target_name(each)}. {describe_details(each, travel, measured=estimate.measured)}",
        )
        for each in judgements
    )
    loads = sorted({each.load_kg for each in judgements})
    figures = tuple(
        _figure(estimate, load, [each for each in judgements if each.load_kg == load]) for load in loads
    )
    return TargetView(rows, figures)


def _figure(estimate: ProfileEstimate, load_kg: float, judgements: Sequence[Judgement]) -> Drawing:
    travel = estimate.travel
    k = int(np.argmin(np.abs(estimate.loads_kg - load_kg)))
    force, half = estimate.static_n[k], estimate.static_u95_n[k]
    x = along_travel(travel.angle_rad, travel)

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        axes.fill_between(x, force - half, force + half, color=BAND, lw=0)
        axes.plot(x, force, color=MEASURED, lw=2.2)
        frame(
            axes, sheet, x_label=travel_label(travel, sheet), y_label=f"force at the handle, {force_unit()}"
        )
        edges = [_within(edge) for each in judgements for edge in (each.low_n, each.high_n)]
        from_zero(axes, [force - half, force + half, *(edge for edge in edges if edge.size)])
        for each in judgements:
            _limits(axes, along_travel(each.placed.at_rad, travel), each)
        travel_scale(axes, travel)
        force_beside(axes, sheet)

    load = load_text(load_kg)
    return draw(
        f"target-{load_kg:g}".replace(".", "-"),
        f"Force at the handle with {load} over the travel, and what the targets allow.",
        f"With {load}. {target_caption(judgements, measured=estimate.measured)}",
        plot,
        height_factor=0.8,
    )


def _within(edge_n: Floats) -> Floats:
    return edge_n[np.isfinite(edge_n)]


def _limits(axes: Axes, x: Floats, judgement: Judgement) -> None:
    """What a target allows, on axes that have their limits; an open side is hatched or pointed at for a little way."""
    bottom, top = axes.get_ylim()
    lower, upper = judgement.placed.lower, judgement.placed.upper
    stretch = judgement.placed.target.between and x.size > 1
    way = (STRIP if stretch else ARROW) * (top - bottom)
    low = np.where(lower, judgement.low_n, judgement.high_n - way)
    high = np.where(upper, judgement.high_n, judgement.low_n + way)
    if stretch:
        asked = lower | upper
        axes.fill_between(
            x, low, high, where=asked, facecolor="none", edgecolor=MODEL, hatch="/////", lw=0.0, alpha=0.45
        )
        for edge, limited in ((low, lower), (high, upper)):
            axes.plot(x, np.where(limited, edge, np.nan), color=MODEL, lw=1.2, ls=(0, (6, 2)))
        return
    axes.vlines(x, low, high, color=MODEL, lw=2.0, clip_on=False, zorder=5)
    for edge, limited, marker in ((low, lower, "v"), (high, upper, "^")):
        for at, force, closed in zip(x, edge, limited, strict=True):
            if closed:
                axes.hlines(
                    force,
                    max(at - BAR, 0.0),
                    min(at + BAR, 100.0),
                    color=MODEL,
                    lw=2.0,
                    clip_on=False,
                    zorder=5,
                )
            else:
                axes.plot(at, force, marker=marker, ms=7, color=MODEL, clip_on=False, zorder=5)
