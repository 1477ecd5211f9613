"""Figures of a study, for the page and for a journal: they are told apart in grey too."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from feltload.app.jobs.study.measured import SHARES_PERCENT
from feltload.app.jobs.study.study import CurveStudy, Study
from feltload.app.pages.axes import DASHES, end_labels, force_scale
from feltload.app.pages.canvas import INK, QUIET, Drawing, Sheet, draw, frame, printed
from feltload.app.text.numbers import force_unit, load_text, number
from feltload.app.text.study.terms import term_name
from feltload.coaching import Component, OccasionPair

COLUMN_MM: Mapping[str, float] = {"single": 84.0, "double": 174.0}
"""Width of a journal's column, or of both (common practice, no source)."""
PRINT_PT = 8.0
SHADES = ("#1a1a1a", "#5a5a5a", "#8c8c8c")
MOST_NAMED = 6

Plot = Callable[[Figure, Sheet], None]


@dataclass(frozen=True)
class StudyFigure:
    """A figure by the name of its file.

    Attributes
    ----------
    name : str
    description : str
        For those who cannot see it.
    caption : str
    plot : callable
    share : float
        Height as a part of the width.
    """

    name: str
    description: str
    caption: str
    plot: Plot
    share: float

    def drawing(self) -> Drawing:
        """For the page."""
        return draw(self.name, self.description, self.caption, self.plot, height_factor=self.share / 0.58)

    def file(self, form: str, column: str) -> bytes:
        """For a journal."""
        width = COLUMN_MM[column]
        height = width * self.share * (1.0 if column == "single" else 0.62)
        return printed(self.plot, form, width_mm=width, height_mm=height, font_pt=PRINT_PT)


def study_figures(study: Study) -> list[StudyFigure]:
    """Curves and scatter at each load, limits of agreement and components of the peak force where there are any."""
    figures = []
    for curve in study.curves:
        load = f"{curve.load_kg:g}kg".replace(".", "-")
        if curve.statistics is not None:
            figures.append(_curves(study, curve, load))
        peak = study.of("peak", curve.load_kg)
        if peak is None:
            continue
        if peak.pairs:
            figures.append(_agreement(peak.pairs[0], curve.load_kg, load))
        if peak.components is not None and len(peak.components.parts) > 1:
            figures.append(_components(peak.components.parts, curve.load_kg, load))
    return figures


def _curves(study: Study, curve: CurveStudy, load: str) -> StudyFigure:
    rows = study.data.at_load(curve.load_kg)
    machines = list(dict.fromkeys(row.labels["machine"] for row in rows))
    statistics = curve.statistics

    def plot(figure: Figure, sheet: Sheet) -> None:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[1.6, 1.0])
        names = []
        for k, machine in enumerate(machines):
            colour, dash = SHADES[k % len(SHADES)], DASHES[k % len(DASHES)]
            own = np.array([row.static_n for row in rows if row.labels["machine"] == machine])
            for each in own:
                top.plot(SHARES_PERCENT, each, color=colour, lw=0.5, alpha=0.55)
            mean = own.mean(axis=0)
            top.plot(SHARES_PERCENT, mean, color=colour, ls=dash, lw=1.4)
            names.append((machine, SHARES_PERCENT, mean))
        frame(top, sheet, x_label=None, y_label=f"force at the handle, {force_unit()}")
        force_scale(top, steps=5)
        if 1 < len(machines) <= MOST_NAMED:
            colours = [SHADES[k % len(SHADES)] for k in range(len(names))]
            end_labels(top, names, colours=colours)
        assert statistics is not None
        assert curve.sem_limits is not None
        lower, upper = curve.sem_limits
        bottom.fill_between(SHARES_PERCENT, lower, upper, color=SHADES[2], alpha=0.35, lw=0.0)
        bottom.plot(SHARES_PERCENT, statistics.minimal_difference, color=SHADES[1], ls=DASHES[1], lw=1.2)
        bottom.plot(SHARES_PERCENT, statistics.sem, color=SHADES[0], lw=1.4)
        frame(bottom, sheet, x_label="part of the travel, %", y_label=f"scatter, {force_unit()}")
        bottom.set_ylim(0.0, max(1e-3, 1.15 * float(np.nanmax(statistics.minimal_difference))))
        force_scale(bottom, steps=4)
        end_labels(
            bottom,
            [("SEM", SHARES_PERCENT, statistics.sem), ("MD", SHARES_PERCENT, statistics.minimal_difference)],
            colours=[SHADES[0], SHADES[1]],
        )

    words = load_text(curve.load_kg)
    machine = "each machine" if len(machines) > 1 else "the machine"
    return StudyFigure(
        f"curves-{load}",
        f"Static force along the travel with {words}, every measurement and the mean of {machine}; below, "
        "their scatter.",
        f"Static force with {words}: every measurement (thin) and the mean of {machine}. Below: standard error of "
        "measurement (SEM) at each position by itself with its 95 % confidence limits (grey; beyond the figure where "
        "few occasions leave it open), and minimal difference (MD) of two measurements.",
        plot,
        0.95,
    )


def _agreement(pair: OccasionPair, load_kg: float, load: str) -> StudyFigure:
    limits = pair.limits
    means = 0.5 * (pair.first_values + pair.second_values)
    differences = pair.first_values - pair.second_values

    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        for of, dash in ((limits.lower, DASHES[1]), (limits.bias, DASHES[0]), (limits.upper, DASHES[1])):
            axes.axhline(of.value, color=SHADES[0], ls=dash, lw=1.1)
        axes.axhline(0.0, color=QUIET, lw=0.6)
        axes.plot(means, differences, "o", ms=4.0, mfc="white", mec=SHADES[0], mew=1.0)
        # Intervals stand side by side to the right of the points, for they overlap.
        span = max(float(np.ptp(means)), 1e-9)
        for k, of in enumerate((limits.lower, limits.bias, limits.upper)):
            at, sizes = means.max() + span * (0.12 + 0.06 * k), ([of.value - of.lower], [of.upper - of.value])
            axes.errorbar([at], [of.value], yerr=sizes, color=SHADES[1], capsize=2.5, lw=1.2)
        frame(
            axes,
            sheet,
            x_label=f"mean of both, {force_unit()}",
            y_label=f"{pair.factor} {pair.first} − {pair.second}, {force_unit()}",
        )
        axes.margins(x=0.08)
        force_scale(axes, steps=5)
        axes.xaxis.set_major_formatter(lambda force, _: number(force / force_unit().newtons, ".5g"))

    words = f"peak force with {load_text(load_kg)}, {pair.factor} {pair.first} and {pair.second}"
    return StudyFigure(
        f"agreement-peak-{load}",
        f"Differences of the {words}, against their mean, with limits of agreement.",
        f"Limits of agreement of the {words}: mean difference (line), ± 1.96 standard deviations (dashed), each "
        f"with its 95 % confidence interval (bars at the right); {limits.pairs} machines.",
        plot,
        0.72,
    )


def _components(parts: tuple[Component, ...], load_kg: float, load: str) -> StudyFigure:
    def plot(figure: Figure, sheet: Sheet) -> None:
        axes = figure.subplots()
        names = [term_name(part.name) for part in parts]
        scale = force_unit().newtons
        for k, part in enumerate(reversed(parts)):
            sd = part.sd
            axes.plot(
                [sd.lower / scale, sd.upper / scale], [k, k], color=SHADES[1], lw=2.2, solid_capstyle="butt"
            )
            axes.plot([sd.value / scale], [k], "o", ms=4.5, color=INK)
        axes.set_yticks(range(len(parts)), names[::-1])
        axes.set_ylim(-0.6, len(parts) - 0.4)
        greatest = max(part.sd.value for part in parts)
        within = [part.sd.upper for part in parts if part.sd.upper < 6.0 * greatest]
        axes.set_xlim(0.0, 1.1 * max([greatest, *within]) / scale)
        frame(axes, sheet, x_label=f"standard deviation, {force_unit()}", y_label="")
        axes.grid(visible=False, axis="y")

    words = load_text(load_kg)
    return StudyFigure(
        f"components-peak-{load}",
        f"Standard deviation of each source of scatter of the peak force with {words}.",
        f"What the peak force with {words} scatters by: standard deviation of each source with its 95 % confidence "
        "interval. An interval that leaves the figure is wider than it.",
        plot,
        0.5,
    )
