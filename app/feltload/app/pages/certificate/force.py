"""What the certificate page of a load cell shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from feltload.acquisition import ForceCertificate
from feltload.app.pages.certificate.content import Content, Table, drawing_style, svg
from feltload.app.text.certificate_facts import source_text
from feltload.app.text.facts import describe
from feltload.app.text.numbers import exact_figure, exact_force, force_unit, number
from feltload.app.text.sensor.certificate import describe_force_accuracy, describe_force_formula
from feltload.core import EXPANDED_COVERAGE_K, Fact

_RISING, _FALLING = "#0b5fa5", "#b5530a"


def force_content(c: ForceCertificate) -> Content:
    """Content of a load cell's page."""
    return Content(
        title="Load cell with its electronics",
        result=describe_force_accuracy(c),
        tables=[_classes(c), _steps(c), _budget(c)],
        figures=[_figure(c)],
        figure_label="Certificate less applied force against applied force, rising and falling, within the band "
        "of the expanded uncertainty",
        lines=describe_force_formula(c),
    )


def _classes(c: ForceCertificate) -> Table:
    rows = [
        [
            r.standard,
            r.class_name or "none",
            exact_figure(r.from_n, 1),
            exact_figure(r.to_n, 1),
            _lacking(r.missing),
        ]
        for r in c.classes
    ]
    for name, start in (("A", c.lower_limit.class_a_from_n), ("AA", c.lower_limit.class_aa_from_n)):
        to_n = None if start is None else c.highest_n
        missing = _lacking(c.lower_limit.missing)
        shown = name if start is not None else f"{name} not reached"
        rows.append(["ASTM E74", shown, exact_figure(start, 1), exact_figure(to_n, 1), missing])
    incomplete = any(row[-1] for row in rows)
    unit = force_unit()
    heads = ["Standard", "Class", f"From, {unit}", f"To, {unit}", "Not shown by this loading"]
    return Table(
        "Against the standards",
        heads if incomplete else heads[:4],
        [row if incomplete else row[:4] for row in rows],
        words=incomplete,
        below="A class with an entry under “not shown” is an indication and not a classification."
        if incomplete
        else "",
    )


def _lacking(facts: Sequence[Fact]) -> str:
    return "; ".join(describe(fact) for fact in facts)


def _steps(c: ForceCertificate) -> Table:
    columns = {
        "b": "reproducibility_percent",
        "b′": "repeatability_percent",
        "fc": "interpolation_percent",
        "v": "reversibility_percent",
        "q": "indication_percent",
        "b of q": "indication_spread_percent",
    }
    # Certificates of an older format have no mean deflections.
    deflects = any(s.mean_deflection is not None for s in c.steps)
    form = ".1f" if c.reading_unit == "counts" else ".6f"
    rows = [
        [
            exact_figure(s.force_n),
            exact_figure(s.u95_n),
            *([number(s.mean_deflection, form)] if deflects else []),
            *(number(getattr(s, name)) for name in columns.values()),
        ]
        for s in c.steps
    ]
    whole = next((r for r in c.classes if r.standard == "ISO 376"), None)
    zero = (
        ""
        if whole is None
        else f" Zero f₀ {number(whole.zero_percent)} %, creep c {number(whole.creep_percent)} %."
    )
    return Table(
        "Relative errors in percent of the force",
        [
            f"Force, {force_unit()}",
            f"U, {force_unit()}",
            *([f"Deflection, {c.reading_unit}"] if deflects else []),
            *columns,
        ],
        rows,
        below=f"{'Deflection: mean of the rising readings. ' if deflects else ''}"
        "b reproducibility (cell turned), b′ repeatability, fc interpolation, v reversibility (ISO 376); "
        f"q accuracy and its repeatability b (ISO 7500-1).{zero}",
    )


def _budget(c: ForceCertificate) -> Table:
    ends = np.array([c.lowest_n, c.highest_n])
    lines = {source_text(line.source): line.u_n + line.u_relative * ends for line in c.budget}
    lines |= {"calibration curve": c.u_curve_n(c.reading_of(ends)), "together": c.u_force_n(ends)}
    rows = [
        [name, *("< 0.001" if u < 5e-4 * force_unit().newtons else exact_figure(float(u), 3) for u in values)]
        for name, values in lines.items()
    ]
    return Table(
        f"Standard uncertainty of one reading, {force_unit()}",
        ["Source", f"at {exact_force(ends[0], 0)}", f"at {exact_force(ends[1], 0)}"],
        rows,
        ends_in_sum=True,
    )


def _figure(c: ForceCertificate) -> str:
    with drawing_style():
        figure = Figure(figsize=(4.7, 2.4), layout="constrained")
        axes = figure.subplots()
        force_n = np.linspace(c.lowest_n, c.highest_n, 60)
        unit_n = force_unit().newtons
        force, band = force_n / unit_n, EXPANDED_COVERAGE_K * c.u_force_n(force_n) / unit_n
        axes.fill_between(force, -band, band, color="#e6e9ee", label="± U", zorder=0, lw=0)
        axes.axhline(0, color="#566070", lw=0.8)
        for direction, marker, colour in (("rising", "^", _RISING), ("falling", "v", _FALLING)):
            points = [
                r for r in c.readings if r.direction == direction and r.applied_n > 0 and not r.excluded
            ]
            if points:
                axes.plot(
                    [r.applied_n / unit_n for r in points],
                    [r.residual_n / unit_n for r in points],
                    marker,
                    ms=4,
                    color=colour,
                    label=direction,
                )
        axes.set(xlabel=f"Applied force, {force_unit()}", ylabel=f"Certificate − applied, {force_unit()}")
        axes.set_xlim(0, None)
        figure.legend(ncols=3, loc="outside upper left")
        return svg(figure)
