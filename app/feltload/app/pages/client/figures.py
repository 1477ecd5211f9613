"""Figures of the client's page."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.canvas import BAND, INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.pages.client.shading import describe_shading, shade_travel
from feltload.app.text.numbers import degrees
from feltload.coaching import CapacityCurve, DeliveredHelp, HelpPlan, LoadLine, Match, Phase
from feltload.core import Floats

ANGLE_LABEL = "angle of the handle line, °"


def demand_figure(match: Match, capacity: CapacityCurve, line: LoadLine) -> Drawing:
    """Load and capacity over the travel, the limiting position marked, and where nothing is known or nobody works."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = np.rad2deg(match.angle_rad)
        u95 = np.interp(match.angle_rad, capacity.angle_rad, capacity.u95_n)
        axes.fill_between(angle, match.capacity_n - u95, match.capacity_n + u95, color=BAND, lw=0)
        axes.plot(angle, match.capacity_n, color=MEASURED, lw=1.6, ls=(0, (5, 2)))
        axes.plot(angle, match.load_n, color=INK, lw=2.2)
        top = 1.15 * float(max((match.capacity_n + u95).max(), match.load_n.max()))
        axes.set_ylim(0, top)
        worst = match.limiting
        axes.plot([angle[worst]] * 2, [match.load_n[worst], match.capacity_n[worst]], color=MODEL, lw=1.4)
        axes.plot(angle[worst], match.load_n[worst], "o", color=MODEL, ms=5, clip_on=False)
        over = bool(match.load_n.mean() > match.capacity_n.mean())
        _label(
            axes, angle, match.capacity_n + (-u95 if over else u95), "what you have", MEASURED, above=not over
        )
        _label(axes, angle, match.load_n, f"what {match.load_kg:g} kg asks for", INK, above=over)
        late = worst > angle.size / 2
        axes.annotate(
            f"hardest: {100 * match.limiting_demand:.0f} %",
            (angle[worst], min(match.load_n[worst], match.capacity_n[worst])),
            (4 if late else -4, -9),
            textcoords="offset points",
            ha="right" if late else "left",
            va="top",
            color=MODEL,
        )
        for span in match.travel.unknown_rad:
            part = (line.angle_rad >= span[0]) & (line.angle_rad <= span[1])
            asked = line.raising_n(match.load_kg)[part]
            axes.plot(np.rad2deg(line.angle_rad[part]), asked, color=QUIET, lw=1.2, ls=(0, (1, 1.5)))
        frame(axes, sheet, x_label=ANGLE_LABEL, y_label="force at the handle, N")
        shade_travel(axes, match.travel, sheet)

    return draw(
        "demand",
        f"Load against capacity; the load asks for most of the capacity at "
        f"{degrees(match.limiting_angle_rad)}.",
        "Full line: the force raising slowly. Dashed with band: what you can produce, with its 95 % range. "
        f"{describe_shading(match.travel)}",
        plot,
        height_factor=0.85,
    )


def help_figure(plan: HelpPlan, given: DeliveredHelp | None) -> Drawing:
    """Planned help by position, and what was given."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = np.rad2deg(plan.angle_rad)
        axes.axhline(0.0, color=QUIET, lw=0.8)
        axes.plot(angle, plan.help_n, color=MODEL, lw=1.8, ls=(0, (5, 2)))
        above = True
        if given is not None:
            mean = given.mean_n(Phase.CONCENTRIC)
            measured = np.isfinite(mean)
            at = np.rad2deg(given.angle_rad[measured])
            value, band = mean[measured], given.u95_n(Phase.CONCENTRIC)[measured]
            axes.fill_between(at, value - band, value + band, color=BAND, lw=0)
            axes.plot(at, value, color=MEASURED, lw=2.2)
            above = bool(plan.help_n.mean() > value.mean())
        low, high = axes.get_ylim()
        room = 0.14 * max(high - low, 20.0)
        axes.set_ylim(min(low, -10.0) - room, max(high, 10.0) + room)
        _label(axes, angle, plan.help_n, "plan", MODEL, above=above)
        if given is not None:
            _label(axes, at, value, "given, raising", MEASURED, above=not above, part=0.5)
        frame(axes, sheet, x_label=ANGLE_LABEL, y_label="by hand, N: help above 0, added resistance below")
        shade_travel(axes, plan.travel, sheet)

    what = "Help planned by position" + (" and help given." if given is not None else ".")
    caption = f"With {plan.load_kg:g} kg. Dashed: the plan, raising." + (
        " Full line with band: what your partner gave, measured at your handle." if given is not None else ""
    )
    return draw("help", what, caption, plot, height_factor=0.7)


def _label(
    axes: Axes, x: Floats, y: Floats, text: str, color: str, *, above: bool, part: float = 0.12
) -> None:
    """Name a curve beside it, on the side towards which it falls away from the text."""
    place = round(part * (x.size - 1))
    span = max(2, x.size // 10)
    climb = y[min(place + span, x.size - 1)] - y[max(place - span, 0)]
    flat = abs(climb) < 0.03 * abs(np.subtract(*axes.get_ylim()))
    beside = "left" if flat or (climb > 0) != above else "right"
    axes.annotate(
        text,
        (x[place], y[place]),
        (0, 7 if above else -7),
        textcoords="offset points",
        ha=beside,
        va="bottom" if above else "top",
        color=color,
    )
