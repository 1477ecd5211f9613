"""The results table of a study, with the numbers filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feltload.app.jobs.study.study import QuantityStudy, Study
from feltload.app.jobs.study.tables import unit_of
from feltload.app.text.numbers import MISSING, load_text, sentence
from feltload.app.text.study.facts import QUANTITIES
from feltload.app.text.study.numbers import correlation_text, plain, with_limits
from feltload.app.text.study.terms import again_words
from feltload.coaching import IntraclassCorrelation, OccasionPair

PREFERRED = ("2,1", "1,1")
"""Form of the correlation that the table prints: the first that the study gives. All are in statistics.csv."""


@dataclass(frozen=True)
class ResultsTable:
    """Head, rows and a note below."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str


def results_table(study: Study) -> ResultsTable:
    """One row a quantity and load."""
    sources = len(study.data.sources)
    form = next(
        (icc.form for each in study.quantities if (icc := preferred(each.analysis.correlations))), None
    )
    head: tuple[str, ...] = (
        "Quantity",
        "Load",
        "n",
        "Mean",
        "SEM (95 % CI)",
        "Within one occasion",
        "Minimal difference",
        "CV (95 % CI)",
    )
    pair = next((each.analysis.pairs[0] for each in study.quantities if each.analysis.pairs), None)
    head += () if form is None else (f"ICC({form}) (95 % CI)",)
    head += () if pair is None else (f"Limits of agreement, {pair.factor} {pair.first} − {pair.second}",)
    rows = tuple(_row(each, form, pair) for each in study.quantities)
    note = (
        f"n: measurements. SEM: standard error of one measurement made again, {again_words(study)}; within one "
        "occasion: without what "
        "changes from one operator or day to another. CI: confidence interval. A dash: not to be had from these data."
    )
    return ResultsTable(f"{study.plan.name}: repeatability of {sources} measurements", head, rows, note)


def preferred(correlations: Sequence[IntraclassCorrelation]) -> IntraclassCorrelation | None:
    """The form that is printed."""
    by_form = {icc.form: icc for icc in correlations}
    return next((by_form[form] for form in PREFERRED if form in by_form), None)


def _row(each: QuantityStudy, form: str | None, pair: OccasionPair | None) -> tuple[str, ...]:
    found, unit = each.analysis, unit_of(each.quantity)
    difference = found.minimal_difference
    cells = [
        sentence(QUANTITIES[each.quantity]).rstrip("."),
        load_text(each.load_kg),
        str(found.values),
        plain(found.mean, unit, like=None if found.sem is None else found.sem.value),
        with_limits(found.sem, unit),
        MISSING if found.repeatability is None else plain(found.repeatability.value, unit),
        MISSING if difference is None else plain(difference.value, unit),
        with_limits(found.cv_percent, "%"),
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
    return f"{plain(of.lower.value, unit, like=of.sd)} to {plain(of.upper.value, unit, like=of.sd)}"
