"""A study as tidy tables: one row one value, for pandas, R or a spreadsheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from feltload.app.jobs.study.measured import FORCES, SHARES_PERCENT
from feltload.app.jobs.study.study import Study
from feltload.coaching import FACTORS

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {
    "measurements": ("measurement", *FACTORS, "load_kg", "quantity", "value", "unit"),
    "curves": ("measurement", *FACTORS, "load_kg", "travel_percent", "static_n"),
    "statistics": (
        "quantity", "load_kg", "statistic", "form", "value", "lower95", "upper95", "unit", "measurements", "machines",
    ),
    "components": (
        "quantity", "load_kg", "component", "degrees_of_freedom", "mean_square", "variance", "lower95", "upper95", "sd",
        "variance_reml", "unit", "exact",
    ),
    "agreement": (
        "quantity", "load_kg", "factor", "first", "second", "machines", "averaged", "bias", "bias_lower95",
        "bias_upper95", "sd", "lower", "lower_lower95", "lower_upper95", "upper", "upper_lower95",
        "upper_upper95", "unit",
    ),
    "curve-statistics": (
        "load_kg", "travel_percent", "mean_n", "sem_n", "sem_lower95_n", "sem_upper95_n", "minimal_difference_n",
        "icc_1_1",
    ),
    "curve-tests": (
        "load_kg", "factor", "first", "second", "machines", "arrangements", "p", "threshold", "travel_percent",
        "difference_n", "t", "established",
    ),
}  # fmt: skip
"""Table -> its columns."""


def unit_of(quantity: str) -> str:
    """``N``, or ``%`` of the peak."""
    return "N" if quantity in FORCES else "%"


def study_tables(study: Study) -> dict[str, pd.DataFrame]:
    """All tables by name, with the columns of `COLUMNS`."""
    import pandas as pd

    rows: dict[str, list[tuple[Any, ...]]] = {
        "measurements": _measurements(study),
        "curves": _curves(study),
        "statistics": _statistics(study),
        "components": _components(study),
        "agreement": _agreement(study),
        "curve-statistics": _curve_statistics(study),
        "curve-tests": _curve_tests(study),
    }
    return {name: pd.DataFrame(rows[name], columns=list(columns)) for name, columns in COLUMNS.items()}


def _measurements(study: Study) -> list[tuple[Any, ...]]:
    return [
        (row.measurement, *_labels(row.labels), row.load_kg, quantity, value, unit_of(quantity))
        for row in study.data.rows
        for quantity, value in row.quantities.items()
    ]


def _curves(study: Study) -> list[tuple[Any, ...]]:
    return [
        (row.measurement, *_labels(row.labels), row.load_kg, float(share), float(force))
        for row in study.data.rows
        for share, force in zip(SHARES_PERCENT, row.static_n, strict=True)
    ]


def _labels(labels: Any) -> tuple[str | None, ...]:
    return tuple(labels.get(name) for name in FACTORS)


def _statistics(study: Study) -> list[tuple[Any, ...]]:
    rows: list[tuple[Any, ...]] = []
    for each in study.quantities:
        counts = (each.analysis.values, each.analysis.machines)
        for statistic, *found in each.analysis.to_frame().itertuples(index=False):
            unit = _unit(statistic, each.quantity)
            rows.append((each.quantity, each.load_kg, statistic, *found, unit, *counts))
    return rows


def _unit(statistic: str, quantity: str) -> str:
    if statistic == "icc":
        return "1"
    return "%" if statistic.endswith("_percent") else unit_of(quantity)


def _components(study: Study) -> list[tuple[Any, ...]]:
    rows = []
    for each in study.quantities:
        found, unit = each.analysis.components, unit_of(each.quantity)
        mixed = {} if each.analysis.mixed is None else each.analysis.mixed.variances
        if found is None:
            continue
        for part in found.parts:
            of = part.variance
            rows.append(
                (
                    each.quantity, each.load_kg, part.name, part.degrees_of_freedom, part.mean_square, of.value,
                    of.lower, of.upper, part.sd.value, mixed.get(part.name, np.nan), f"{unit}^2", found.exact,
                )
            )  # fmt: skip
    return rows


def _agreement(study: Study) -> list[tuple[Any, ...]]:
    rows = []
    for each in study.quantities:
        for pair in each.analysis.pairs:
            limits = pair.limits
            values = [part for of in (limits.lower, limits.upper) for part in (of.value, of.lower, of.upper)]
            rows.append(
                (
                    each.quantity, each.load_kg, pair.factor, pair.first, pair.second, limits.pairs, pair.averaged,
                    limits.bias.value, limits.bias.lower, limits.bias.upper, limits.sd, *values, unit_of(each.quantity),
                )
            )  # fmt: skip
    return rows


def _curve_statistics(study: Study) -> list[tuple[Any, ...]]:
    rows: list[tuple[Any, ...]] = []
    for curve in study.curves:
        if curve.statistics is not None and curve.sem_limits is not None:
            of = curve.statistics
            columns = (
                SHARES_PERCENT, of.mean, of.sem, *curve.sem_limits, of.minimal_difference, of.correlation
            )  # fmt: skip
            rows += [(curve.load_kg, *map(float, values)) for values in zip(*columns, strict=True)]
    return rows


def _curve_tests(study: Study) -> list[tuple[Any, ...]]:
    rows: list[tuple[Any, ...]] = []
    for curve in study.curves:
        for pair in curve.pairs:
            test = pair.test
            head = (
                curve.load_kg,
                pair.factor,
                pair.first,
                pair.second,
                pair.machines,
                test.arrangements,
                test.p,
            )
            for share, *values, real in zip(
                SHARES_PERCENT[pair.inside], test.difference, test.statistic, test.established, strict=True
            ):
                rows.append((*head, test.threshold, float(share), *map(float, values), bool(real)))
    return rows
