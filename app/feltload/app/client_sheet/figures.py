"""Figures of the client's page."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from feltload.app.report.canvas import BAND, INK, MEASURED, MODEL, QUIET, Drawing, Sheet, draw, frame
from feltload.coaching import CapacityCurve, DeliveredHelp, HelpPlan, Match

ANGLE_LABEL = "angle of the handle line, °"


def demand_figure(found: Match, capacity: CapacityCurve) -> Drawing:
    """Load and capacity over the travel, the limiting position marked."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = np.rad2deg(found.angle_rad)
        u95 = 2 * np.interp(found.angle_rad, capacity.angle_rad, capacity.u_n)
        axes.fill_between(angle, found.capacity_n - u95, found.capacity_n + u95, color=BAND, lw=0)
        axes.plot(angle, found.capacity_n, color=MEASURED, lw=1.6, ls=(0, (5, 2)))
        axes.plot(angle, found.load_n, color=INK, lw=2.2)
        worst = int(np.argmax(found.demand))
        axes.plot([angle[worst]] * 2, [found.load_n[worst], found.capacity_n[worst]], color=MODEL, lw=1.4)
        axes.plot(angle[worst], found.load_n[worst], "o", color=MODEL, ms=5)
        first = round(0.04 * angle.size)
        axes.annotate(
            "what you have", (angle[first], found.capacity_n[first]), (0, 7), textcoords="offset points"
        )
        axes.annotate(
            f"what {found.load_kg:g} kg asks for",
            (angle[first], found.load_n[first]),
            (0, -14),
            textcoords="offset points",
        )
        axes.annotate(
            f"hardest: {100 * found.limiting_demand:.0f} %",
            (angle[worst], found.load_n[worst]),
            (-8, -16),
            textcoords="offset points",
            ha="right" if worst > angle.size / 2 else "left",
            color=MODEL,
        )
        axes.set_ylim(0, 1.15 * float(max((found.capacity_n + u95).max(), found.load_n.max())))
        frame(axes, sheet, x_label=ANGLE_LABEL, y_label="force at the handle, N")

    return draw(
        "demand",
        f"Load against capacity; the load asks for most of the capacity at "
        f"{np.rad2deg(found.limiting_angle_rad):.0f} degrees.",
        "Full line: the force raising slowly. Dashed with band: what you can produce, with its 95 % range.",
        plot,
    )


def help_figure(plan: HelpPlan, given: DeliveredHelp | None) -> Drawing:
    """Planned help by position, and what was given."""

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        angle = np.rad2deg(plan.angle_rad)
        axes.axhline(0.0, color=QUIET, lw=0.8)
        axes.plot(angle, plan.help_n, color=MODEL, lw=1.8, ls=(0, (5, 2)))
        end = round(0.55 * angle.size)
        axes.annotate(
            "plan", (angle[end], plan.help_n[end]), (6, -12), textcoords="offset points", color=MODEL
        )
        if given is not None:
            seen = np.isfinite(given.concentric_n)
            at = np.rad2deg(given.angle_rad[seen])
            value, band = given.concentric_n[seen], given.u95_n[seen]
            axes.fill_between(at, value - band, value + band, color=BAND, lw=0)
            axes.plot(at, value, color=MEASURED, lw=2.2)
            place = round(0.7 * at.size)
            axes.annotate(
                "given, raising",
                (at[place], value[place]),
                (6, 8),
                textcoords="offset points",
                color=MEASURED,
            )
        low, high = axes.get_ylim()
        axes.set_ylim(min(low, -10.0), max(high, 10.0))
        axes.text(0.01, 0.97, "help", transform=axes.transAxes, va="top", color=QUIET)
        axes.text(0.01, 0.03, "added resistance", transform=axes.transAxes, va="bottom", color=QUIET)
        frame(axes, sheet, x_label=ANGLE_LABEL, y_label="by hand, N")

    what = "Help planned by position" + (" and help given." if given is not None else ".")
    caption = "Above zero the partner helps, below zero the partner adds resistance."
    return draw("help", what, caption, plot, height_factor=0.8)
