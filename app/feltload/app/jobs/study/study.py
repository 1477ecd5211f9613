"""A study analysed: every quantity at every load, the curves, and what a next study needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.app.jobs.study.file import StudyPlan
from feltload.app.jobs.study.measured import FORCES, QUANTITIES, StudyData, StudyRow
from feltload.coaching import (
    FACTORS,
    CoachingError,
    CurveRepeatability,
    CurveTest,
    QuantityAnalysis,
    RepeatabilityFact,
    analyse_quantity,
    compare_paired_curves,
    curve_repeatability,
    level_pairs,
    measurements_to_average,
    scatter_along,
    study_design,
    targets_for_correlation,
)
from feltload.core import Fact, Figure, Floats, Severity

MACHINE, REMOUNT = "machine", "remount"


@dataclass(frozen=True)
class QuantityStudy:
    """One quantity at one load."""

    quantity: str
    load_kg: float
    analysis: QuantityAnalysis


@dataclass(frozen=True)
class CurvePair:
    """Two levels of a factor compared along the curve, over the machines that both have.

    `inside` marks the positions that every curve covers, shape (101,); the test is of those.
    """

    factor: str
    first: str
    second: str
    machines: int
    inside: Floats
    test: CurveTest


@dataclass(frozen=True)
class CurveStudy:
    """The curves at one load: positions by themselves, and pairs of occasions over the whole curve.

    The standard error in `statistics` is of the same components as that of the scalar results; `sem_limits` are its
    lower and upper 95 % limits, pointwise, shape (101,) each.
    """

    load_kg: float
    statistics: CurveRepeatability | None
    pairs: tuple[CurvePair, ...]
    sem_limits: tuple[Floats, Floats] | None = None


@dataclass(frozen=True)
class NextStudy:
    """What is needed for what is wanted; None where nobody asked or the study does not say.

    Attributes
    ----------
    to_average : mapping of float to int
        Load -> measurements made again whose mean peak force has the wanted minimal difference.
    machines : int, optional
        Machines for the wanted width of a correlation's interval.
    measurements : int
        Of each of them.
    """

    to_average: Mapping[float, int]
    machines: int | None
    measurements: int


@dataclass(frozen=True)
class Study:
    """All of it."""

    plan: StudyPlan
    data: StudyData
    quantities: tuple[QuantityStudy, ...]
    curves: tuple[CurveStudy, ...]
    next_study: NextStudy
    facts: tuple[Fact, ...]

    def of(self, quantity: str, load_kg: float) -> QuantityAnalysis | None:
        """One quantity at one load; None where it was not measured."""
        for each in self.quantities:
            if each.quantity == quantity and each.load_kg == load_kg:
                return each.analysis
        return None


def analyse_study(plan: StudyPlan, data: StudyData) -> Study:
    """Every statistic that the measurements of a study give.

    Parameters
    ----------
    plan : StudyPlan
    data : StudyData
    """
    quantities: list[QuantityStudy] = []
    curves: list[CurveStudy] = []
    facts: list[Fact] = []
    for load_kg in data.loads_kg:
        rows = data.at_load(load_kg)
        labels = labels_of(rows)
        for quantity in QUANTITIES:
            values = np.array([row.quantities[quantity] for row in rows])
            known = np.isfinite(values)
            if not known.any():
                continue
            some = {name: [each[k] for k in np.flatnonzero(known)] for name, each in labels.items()}
            found = analyse_quantity(
                values[known],
                some,
                nested=plan.nested,
                compare=plan.compare,
                ratio_scale=quantity in FORCES,
                unit="N" if quantity in FORCES else "",
            )
            quantities.append(QuantityStudy(quantity, load_kg, found))
            facts += _placed(found.facts, quantity=quantity, load_kg=load_kg)
        study, notes = _curves(plan, rows, labels, load_kg)
        curves.append(study)
        facts += notes
    return Study(
        plan,
        data,
        tuple(quantities),
        tuple(curves),
        _next(plan, quantities, data),
        data.facts + _merged(facts),
    )


def labels_of(rows: Sequence[StudyRow]) -> dict[str, list[str]]:
    """Labels by factor; those that nobody noted are left out."""
    return {name: [row.labels[name] for row in rows] for name in FACTORS if name in rows[0].labels}


def _curves(
    plan: StudyPlan, rows: Sequence[StudyRow], labels: Mapping[str, Sequence[str]], load_kg: float
) -> tuple[CurveStudy, list[Fact]]:
    curves, machines = np.array([row.static_n for row in rows]), np.array(labels[MACHINE])
    try:
        statistics = curve_repeatability(curves, machines, unit="N")
    except CoachingError:
        return CurveStudy(load_kg, None, ()), []
    sem, *limits = _scatter(curves, study_design(labels, nested=plan.nested).terms)
    pairs, facts = [], []
    for factor, first, second in level_pairs(labels, plan.compare):
        at = np.array(labels[factor])
        both = [m for m in dict.fromkeys(labels[MACHINE]) if {first, second} <= set(at[machines == m])]
        if len(both) < 2:
            continue
        means = [
            np.array([curves[(machines == m) & (at == level)].mean(axis=0) for m in both])
            for level in (first, second)
        ]
        inside = np.isfinite(means[0]).all(axis=0) & np.isfinite(means[1]).all(axis=0)
        test = compare_paired_curves(means[0][:, inside], means[1][:, inside])
        pairs.append(CurvePair(factor, first, second, len(both), inside, test))
        if not test.can_decide:
            few: dict[str, Figure] = {"machines": len(both), "arrangements": test.arrangements}
            facts.append(Fact(RepeatabilityFact.PERMUTATIONS_FEW, Severity.NOTE, figures=few))
    return CurveStudy(load_kg, replace(statistics, sem=sem), tuple(pairs), (limits[0], limits[1])), facts


def _scatter(curves: Floats, terms: Mapping[str, np.ndarray]) -> list[Floats]:
    """Standard error of a measurement made again at each position, and its limits: all components but the machines'."""
    occasions = tuple(name for name in terms if name != REMOUNT)
    both = [scatter_along(curves, terms, without=without) for without in ((MACHINE,), occasions)]
    # Components below zero may bring the sum below its part.
    return [np.maximum(whole, part) for whole, part in zip(*both, strict=True)]


def _next(plan: StudyPlan, quantities: Sequence[QuantityStudy], data: StudyData) -> NextStudy:
    average: dict[float, int] = {}
    for each in quantities:
        sem = each.analysis.sem
        if each.quantity == "peak" and sem is not None and plan.wanted_difference_n is not None:
            average[each.load_kg] = measurements_to_average(sem.value, plan.wanted_difference_n)
    machines = {row.labels[MACHINE] for row in data.rows}
    each_measured = max(2, round(len(data.sources) / len(machines)))
    if plan.wanted_correlation is None or plan.wanted_width is None:
        return NextStudy(average, None, each_measured)
    needed = targets_for_correlation(plan.wanted_correlation, plan.wanted_width, each_measured)
    return NextStudy(average, needed, each_measured)


def _placed(facts: Sequence[Fact], **figures: Figure) -> list[Fact]:
    return [replace(fact, figures={**figures, **fact.figures}) for fact in facts]


ALIKE = (
    RepeatabilityFact.NOTHING_REPEATED,
    RepeatabilityFact.ONE_MACHINE,
    RepeatabilityFact.FEW_MACHINES,
    RepeatabilityFact.ONLY_ONE_WAY,
    RepeatabilityFact.MACHINES_LEFT_OUT,
    RepeatabilityFact.NO_LIMITS,
    RepeatabilityFact.ALIASED,
    RepeatabilityFact.UNBALANCED,
    RepeatabilityFact.PERMUTATIONS_FEW,
)
"""Facts about the design, the same for every quantity: said once a load, or once."""


def _merged(facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """The facts without what is repeated for every quantity and load; components below zero together."""
    below: dict[str, list[str]] = {}
    for fact in facts:
        if fact.kind == RepeatabilityFact.NEGATIVE_COMPONENT:
            below.setdefault(str(fact.figures["component"]), []).append(str(fact.figures["quantity"]))
    negative = [
        Fact(
            RepeatabilityFact.NEGATIVE_COMPONENT,
            Severity.NOTE,
            figures={"component": component, "quantities": ",".join(dict.fromkeys(quantities))},
        )
        for component, quantities in below.items()
    ]
    plain = [
        replace(fact, figures={k: v for k, v in fact.figures.items() if k not in ("quantity", "load_kg")})
        if fact.kind in ALIKE
        else fact
        for fact in facts
        if fact.kind != RepeatabilityFact.NEGATIVE_COMPONENT
    ] + negative
    return tuple(fact for k, fact in enumerate(plain) if fact not in plain[:k])
