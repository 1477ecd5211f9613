"""Figures of the client's page."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from feltload.app.pages.axes import along_travel, force_scale, travel_label, travel_scale
from feltload.app.pages.behind import curve_words, table_along
from feltload.app.pages.canvas import BAND, INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.app.pages.client.shading import describe_shading, shade_painful, shade_travel
from feltload.app.text.numbers import force_unit, load_text
from feltload.app.text.position import describe_position
from feltload.coaching import CapacityCurve, DeliveredHelp, HelpPlan, LoadLine, Match, Phase
from feltload.core import Floats
from feltload.signal import Travel

VERBS = {Phase.CONCENTRIC: "raising", Phase.ECCENTRIC: "lowering"}
LEAST_HALF_AXIS_N = 10.0
ROOM_SHARE = 0.1
"""Between two curves further apart than this part of the axis a word has room."""
AT_END = 0.85
"""A name at a place later than this part of the range would leave the axes if it were centred."""


def demand_figure(match: Match, capacity: CapacityCurve, line: LoadLine, along: Travel) -> Drawing:
    """Load and capacity over the travel, the limiting position marked, and where nothing is known or nobody works."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = along_travel(match.angle_rad, along)
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
        late = worst > angle.size / 2
        beside = 0.12 if late else 0.5  # the curves' names keep clear of the hardest position's
        edge = match.capacity_n + (-u95 if over else u95)
        _label(axes, angle, edge, "what you have", MEASURED, above=not over, part=beside)
        asks = f"what {load_text(match.load_kg)} asks for"
        _label(axes, angle, match.load_n, asks, INK, above=over, part=beside)
        ends = sorted((match.load_n[worst], match.capacity_n[worst]))
        between = ends[1] - ends[0] > ROOM_SHARE * top
        side = "right" if late else "left"
        align = "center" if late and not between and worst < AT_END * angle.size else side
        axes.annotate(
            f"hardest: {100 * match.limiting_demand:.0f} %",
            (angle[worst], sum(ends) / 2 if between else ends[0]),
            (0 if align == "center" else -5 if late else 5, 0 if between else -9),
            textcoords="offset points",
            ha=align,
            va="center" if between else "top",
            color=MODEL,
        )
        for span in match.travel.unknown_rad:
            part = (line.angle_rad >= span[0]) & (line.angle_rad <= span[1])
            asked = line.raising_n(match.load_kg)[part]
            axes.plot(along_travel(line.angle_rad[part], along), asked, color=QUIET, lw=1.2, ls=(0, (1, 1.5)))
        frame(axes, sheet, x_label=travel_label(along, sheet), y_label=f"force at the handle, {force_unit()}")
        force_scale(axes)
        travel_scale(axes, along)
        shade_travel(axes, match.travel, along, sheet)

    return draw(
        "demand",
        f"Load and capacity over the travel. {load_text(match.load_kg)} asks for "
        f"{curve_words(along, match.angle_rad, match.load_n)}; you have "
        f"{curve_words(along, match.angle_rad, match.capacity_n)}. Hardest at "
        f"{describe_position(match.limiting_angle_rad, along)}: {100 * match.limiting_demand:.0f} % of what you have.",
        "Full line: the force raising slowly. Dashed with band: what you can produce, with its 95 % range. "
        f"{describe_shading(match.travel)}",
        plot,
        height_factor=0.85,
        table=table_along(
            along,
            [
                (f"{load_text(match.load_kg)} asks for", match.angle_rad, match.load_n),
                ("you have", match.angle_rad, match.capacity_n),
                (
                    "±",
                    match.angle_rad,
                    np.interp(match.angle_rad, capacity.angle_rad, capacity.u95_n),
                ),
            ],
        ),
    )


def capacity_figure(capacity: CapacityCurve, held: Travel) -> Drawing:
    """What a client can produce over the range held, with its band, and what is marked painful in it."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = along_travel(capacity.angle_rad, held)
        axes.fill_between(
            angle, capacity.force_n - capacity.u95_n, capacity.force_n + capacity.u95_n, color=BAND, lw=0
        )
        axes.plot(angle, capacity.force_n, color=MEASURED, lw=2.2)
        best = capacity.strongest
        axes.plot(angle[best], capacity.force_n[best], "o", color=MODEL, ms=5, clip_on=False)
        axes.set_ylim(0, 1.15 * float((capacity.force_n + capacity.u95_n).max()))
        frame(axes, sheet, x_label=travel_label(held, sheet), y_label=f"force at the handle, {force_unit()}")
        force_scale(axes)
        travel_scale(axes, held)
        shade_painful(axes, capacity.painful_rad, held)

    sore = " Red: marked painful, nobody works there." if capacity.painful_rad else ""
    return draw(
        "capacity",
        "What the client can produce by position; most at "
        f"{describe_position(float(capacity.angle_rad[capacity.strongest]), held, of='the range held')}.",
        f"Line: steady holds, joined between the positions held. Band: its 95 % range. Point: the strongest.{sore}",
        plot,
        height_factor=0.85,
    )


def help_figure(plan: HelpPlan, given: DeliveredHelp | None, along: Travel) -> Drawing:
    """Planned help by position, and what was given: raising and lowering beside or above one another."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        shape = (1, 2) if sheet.wide else (2, 1)
        both = np.ravel(figure.subplots(*shape, sharex=True, sharey=True))
        for axes, phase in zip(both, Phase, strict=True):
            _draw_help(axes, phase, plan, given, along)
        low, high = both[0].get_ylim()
        room = 0.14 * max(high - low, 2.0 * LEAST_HALF_AXIS_N)
        both[0].set_ylim(min(low, -LEAST_HALF_AXIS_N) - room, max(high, LEAST_HALF_AXIS_N) + room)
        for axes, phase in zip(both, Phase, strict=True):
            below = sheet.wide or axes is both[-1]
            frame(axes, sheet, x_label=None, y_label=f"{VERBS[phase]}, {force_unit()}")
            force_scale(axes, steps=5)
            travel_scale(axes, along)
            axes.tick_params(labelbottom=below)
            shade_travel(axes, plan.travel, along, sheet, named=False)
        figure.supxlabel(travel_label(along, sheet), fontsize=sheet.font_pt)

    curves = [
        *((f"plan, {VERBS[phase]}", plan.angle_rad, plan.hand_n(phase)) for phase in Phase),
        *(
            (f"given, {VERBS[phase]}", given.angle_rad, given.mean_n(phase))
            for phase in Phase
            if given is not None
        ),
    ]
    told = "; ".join(f"{name}: {curve_words(along, angle, force)}" for name, angle, force in curves)
    what = f"Help by position; below zero it is added resistance. {told}."
    caption = (
        f"With {load_text(plan.load_kg)}: help above 0, added resistance below. Dashed: the plan, as it is told."
        + (
            " Full line with band: what your partner gave, measured at your handle."
            if given is not None
            else ""
        )
    )
    shading = describe_shading(plan.travel)
    return draw(
        "help",
        what,
        f"{caption} {shading}".strip(),
        plot,
        height_factor=0.62,
        narrow_height_factor=1.0,
        table=table_along(along, curves),
    )


def _draw_help(axes: Axes, phase: Phase, plan: HelpPlan, given: DeliveredHelp | None, along: Travel) -> None:
    """One way of the movement: its plan, and what was given."""
    angle, planned = along_travel(plan.angle_rad, along), plan.hand_n(phase)
    axes.axhline(0.0, color=QUIET, lw=0.8)
    axes.plot(angle, planned, color=MODEL, lw=1.8, ls=(0, (5, 2)))
    if given is None:
        _label(axes, angle, planned, "plan", MODEL, above=True)
        return
    mean, band = given.mean_n(phase), given.u95_n(phase)
    measured = np.isfinite(mean)
    at, value = along_travel(given.angle_rad[measured], along), mean[measured]
    if not at.size:
        return
    axes.fill_between(at, value - band[measured], value + band[measured], color=BAND, lw=0)
    axes.plot(at, value, color=MEASURED, lw=2.2)
    above = bool(planned.mean() > value.mean())
    _label(axes, angle, planned, "plan", MODEL, above=above)
    _label(axes, at, value, "given", MEASURED, above=not above, part=0.5)


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
