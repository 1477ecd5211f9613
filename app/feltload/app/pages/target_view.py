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
from feltload.signal import ProfileEstimate

TONES = {
    TargetVerdict.MET: "good",
    TargetVerdict.NOT_MET: "bad",
    TargetVerdict.UNDETERMINED: "careful",
}
BAR = 1.2
"""Half the length of the ends of a bar at a single position, percent of the travel."""


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
        for each in judgements:
            _limits(axes, along_travel(each.placed.at_rad, travel), each)
        frame(
            axes, sheet, x_label=travel_label(travel, sheet), y_label=f"force at the handle, {force_unit()}"
        )
        from_zero(axes, [force - half, force + half, *(each.high_n for each in judgements)])
        travel_scale(axes, travel)
        force_beside(axes, sheet)

    load = load_text(load_kg)
    return draw(
        f"target-{load_kg:g}".replace(".", "-"),
        f"Force at the handle with {load} over the travel, and what the targets allow.",
        f"With {load}. {target_caption(measured=estimate.measured)}",
        plot,
        height_factor=0.8,
    )


def _limits(axes: Axes, x: np.ndarray[tuple[int, ...], np.dtype[np.float64]], judgement: Judgement) -> None:
    low, high = judgement.low_n, judgement.high_n
    if judgement.placed.target.between and x.size > 1:
        axes.fill_between(x, low, high, facecolor="none", edgecolor=MODEL, hatch="/////", lw=0.0, alpha=0.45)
        for edge in (low, high):
            axes.plot(x, edge, color=MODEL, lw=1.2, ls=(0, (6, 2)))
        return
    axes.vlines(x, low, high, color=MODEL, lw=2.0, clip_on=False, zorder=5)
    for edge in (low, high):
        axes.hlines(edge, x - BAR, x + BAR, color=MODEL, lw=2.0, clip_on=False, zorder=5)
