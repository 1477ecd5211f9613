"""The results table of a study, with the numbers filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feltload.app.jobs.study.study import QuantityStudy, Study
from feltload.app.jobs.study.tables import unit_of
from feltload.app.text.numbers import MISSING, load_text, sentence
from feltload.app.text.study.facts import QUANTITIES
from feltload.app.text.study.numbers import correlation_text, in_unit, plain, with_limits
from feltload.app.text.study.terms import again_words
from feltload.coaching import IntraclassCorrelation, OccasionPair

PREFERRED = ("2,1", "1,1")
"""Form of the correlation that the table prints: the first that the study gives. All are in statistics.csv."""

OF_SCATTER = 5
"""Columns of the first panel on paper; coefficient of variation, correlation and agreement are the second."""

SHORT = {"end": "force at the end"}
"""Names of quantities that a narrow column has no room for."""


@dataclass(frozen=True)
class ResultsTable:
    """Head, rows and a note below; a line break in a head is one where the column is narrow.

    The first `leading` columns say which row it is. `panels` are the others that stand side by side on paper, one panel
    below the other.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str
    leading: int
    panels: tuple[tuple[int, ...], ...]


def results_table(study: Study) -> ResultsTable:
    """One row a quantity and load."""
    loads = study.data.loads_kg
    form = next(
        (icc.form for each in study.quantities if (icc := preferred(each.analysis.correlations))), None
    )
    pair = next((each.analysis.pairs[0] for each in study.quantities if each.analysis.pairs), None)
    leading: tuple[str, ...] = ("Quantity", "Load") if len(loads) > 1 else ("Quantity",)
    scatter = ("n", "Mean", "SEM\n(95 % CI)", "Within one\noccasion", "Minimal\ndifference")
    other: tuple[str, ...] = ("CV, %\n(95 % CI)",)
    other += () if form is None else (f"ICC({form})\n(95 % CI)",)
    other += () if pair is None else (f"Limits of agreement,\n{pair.factor} {pair.first} − {pair.second}",)
    note = (
        f"n: measurements. SEM: standard error of one measurement made again, {again_words(study)}; within one "
        "occasion: without what changes from one operator or day to another. CV: coefficient of variation. CI: "
        "confidence interval. A dash: not to be had from these data."
    )
    measured = f"{len(study.data.sources)} measurements" + (
        f" with {load_text(loads[0])}" if len(loads) == 1 else ""
    )
    first, second = len(leading), len(leading) + OF_SCATTER
    head = (*leading, *scatter, *other)
    return ResultsTable(
        caption=f"{study.plan.name}: repeatability of {measured}",
        head=head,
        rows=tuple(_row(each, form, pair, with_load=len(loads) > 1) for each in study.quantities),
        note=note,
        leading=first,
        panels=(tuple(range(first, second)), tuple(range(second, len(head)))),
    )


def preferred(correlations: Sequence[IntraclassCorrelation]) -> IntraclassCorrelation | None:
    """The form that is printed."""
    by_form = {icc.form: icc for icc in correlations}
    return next((by_form[form] for form in PREFERRED if form in by_form), None)


def _row(
    each: QuantityStudy, form: str | None, pair: OccasionPair | None, *, with_load: bool
) -> tuple[str, ...]:
    found, unit = each.analysis, unit_of(each.quantity)
    difference = found.minimal_difference
    name = SHORT.get(each.quantity, QUANTITIES[each.quantity])
    cells = [
        f"{sentence(name).rstrip('.')}, {in_unit(unit)[1]}",
        *([load_text(each.load_kg)] if with_load else []),
        str(found.values),
        plain(found.mean, unit, like=None if found.sem is None else found.sem.value, bare=True),
        with_limits(found.sem, unit, bare=True),
        MISSING if found.repeatability is None else plain(found.repeatability.value, unit, bare=True),
        MISSING if difference is None else plain(difference.value, unit, bare=True),
        with_limits(found.cv_percent, "%", bare=True),
    ]
    if form is not None:
        icc = next((icc for icc in found.correlations if icc.form == form), None)
        cells.append(MISSING if icc is None else correlation_text(icc))
    if pair is not None:
        same = next((p for p in found.pairs if (p.first, p.second) == (pair.first, pair.second)), None)
        cells.append(MISSING if same is None else _limits(same, unit))
    return tuple(cells)


def _limits(pair: OccasionPair, unit: str) -> str:
    of = pair.limits
    lower, upper = (plain(limit.value, unit, like=of.sd, bare=True) for limit in (of.lower, of.upper))
    return f"{lower} to {upper}"
