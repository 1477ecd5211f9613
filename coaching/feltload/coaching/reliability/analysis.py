"""Everything that a study can say of one quantity, and what it cannot."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.change import minimal_difference
from feltload.coaching.reliability.components import Components, variance_components
from feltload.coaching.reliability.design import MACHINE, REMOUNT, Design, study_design
from feltload.coaching.reliability.facts import RepeatabilityFact
from feltload.coaching.reliability.intraclass import (
    IntraclassCorrelation,
    intraclass_correlations,
    one_way_only,
)
from feltload.coaching.reliability.mixed_model import MixedModel, mixed_model
from feltload.coaching.reliability.occasions import OccasionPair, common_table, compared_pairs, trials_of
from feltload.coaching.reliability.within import Estimate, in_unit, within_scatter
from feltload.core import Fact, Figure, Floats, Intervals, Severity, Shown, Summary

if TYPE_CHECKING:
    import pandas as pd

FEW_MACHINES = 5
NEGLIGIBLE_SCATTER = 1e-9


@dataclass(frozen=True, repr=False)
class QuantityAnalysis(Shown):
    """One quantity of a study; None or empty where the data do not give it, with a fact that says why.

    Attributes
    ----------
    values, machines : int
        How many there are.
    mean : float
    correlations : tuple of IntraclassCorrelation
    sem : Estimate, optional
        Standard error of one measurement made again: everything that scatters but the machines.
    repeatability : Estimate, optional
        The part of it within one occasion: of remounts and what is left.
    cv_percent, log_cv_percent : Estimate, optional
        `sem` in percent of the mean, and from logarithms.
    components : Components, optional
        By analysis of variance.
    mixed : MixedModel, optional
        The same by restricted maximum likelihood.
    pairs : tuple of OccasionPair
        Limits of agreement of occasions.
    design : Design
        Sources that the study can separate.
    facts : tuple of Fact
    unit : str
        Of the values.
    """

    values: int
    machines: int
    mean: float
    design: Design
    correlations: tuple[IntraclassCorrelation, ...] = ()
    sem: Estimate | None = None
    repeatability: Estimate | None = None
    cv_percent: Estimate | None = None
    log_cv_percent: Estimate | None = None
    components: Components | None = None
    mixed: MixedModel | None = None
    pairs: tuple[OccasionPair, ...] = ()
    facts: tuple[Fact, ...] = ()
    unit: str = ""

    def summary(self) -> Summary:
        """Every statistic that the data give."""
        rows = [(name, each.said(self.unit)) for name, each in self._scatter.items()]
        if self.cv_percent is not None:
            rows.append(("coefficient of variation", self.cv_percent.said("%")))
        rows += [
            (f"intraclass correlation {icc.form}", Estimate(icc.value, icc.lower, icc.upper).said())
            for icc in self.correlations
        ]
        sem = "not known: nothing was repeated" if self.sem is None else self.sem.said(self.unit)
        title = f"Repeatability of {self.values} values of {self.machines} machines"
        main = f"standard error of measurement (95 % interval) {sem}"
        return Summary(title, ("statistic", "value (95 % interval)"), tuple(rows), main)

    @property
    def _scatter(self) -> dict[str, Estimate]:
        """Figures in the unit of the values, by name."""
        of = {
            "standard error of measurement": self.sem,
            "repeatability, within an occasion": self.repeatability,
            "minimal difference": self.minimal_difference,
        }
        parts = () if self.components is None else self.components.parts
        found = {name: each for name, each in of.items() if each is not None}
        return found | {f"standard deviation of {part.name}": part.sd for part in parts}

    def picture(self) -> Intervals:
        """Errors of measurement and standard deviations of their sources, with intervals."""
        found = list(self._scatter.values())
        values, low, high = np.array([(e.value, e.lower, e.upper) for e in found]).reshape(-1, 3).T
        title = f"Repeatability of {self.values} values of {self.machines} machines"
        return Intervals(title, in_unit(self.unit), tuple(self._scatter), values, (low, high))

    def to_frame(self) -> pd.DataFrame:
        """One row a statistic: ``statistic, form, value, lower95, upper95``; those that cannot be had are missing."""
        import pandas as pd

        of = {
            "mean": Estimate(self.mean, np.nan, np.nan),
            "sem": self.sem,
            "repeatability_sd": self.repeatability,
            "minimal_difference": self.minimal_difference,
            "cv_percent": self.cv_percent,
            "log_cv_percent": self.log_cv_percent,
        }
        rows = [
            (name, "", each.value, each.lower, each.upper) for name, each in of.items() if each is not None
        ]
        rows += [("icc", icc.form, icc.value, icc.lower, icc.upper) for icc in self.correlations]
        return pd.DataFrame(rows, columns=["statistic", "form", "value", "lower95", "upper95"])

    @property
    def minimal_difference(self) -> Estimate | None:
        """Difference of two single measurements that 95 % of unchanged pairs stay under."""
        return None if self.sem is None else self.sem.scaled(minimal_difference(1.0))


def analyse_quantity(
    values: ArrayLike,
    labels: Mapping[str, Sequence[str]],
    *,
    nested: Mapping[str, str] | None = None,
    compare: str | None = None,
    ratio_scale: bool = True,
    unit: str = "",
) -> QuantityAnalysis:
    """Everything that measurements of one quantity say of its repeatability.

    Parameters
    ----------
    values : array_like, shape (n,)
    labels : mapping of str to sequence of str
        Of every measurement its ``machine``, and its ``operator``, ``day`` and ``remount`` where they were noted.
    nested : mapping of str to str, optional
        As `study_design` takes it.
    compare : str, optional
        Factor whose levels are compared by limits of agreement; left out, the first of operator, day and remount that
        has several.
    ratio_scale : bool
        Whether a value is a share of something, so that a coefficient of variation means something.
    unit : str
        Of the values, to be shown.
    """
    y = np.asarray(values, dtype=float)
    machines = len(set(labels[MACHINE]))
    design = study_design(labels, nested=nested)
    found: dict[str, Any] = {}
    facts = list(design.facts)

    def note(kind: RepeatabilityFact, **figures: Figure) -> None:
        facts.append(Fact(kind, Severity.NOTE, figures=figures))

    def result() -> QuantityAnalysis:
        return QuantityAnalysis(
            y.size, machines, float(y.mean()), design, facts=tuple(facts), unit=unit, **found
        )

    trials = trials_of(y, labels[MACHINE])
    if all(len(each) < 2 for each in trials.values()):
        note(RepeatabilityFact.NOTHING_REPEATED)
        return result()
    if within_scatter(list(trials.values())).sem.value <= NEGLIGIBLE_SCATTER * max(
        float(np.abs(y).max()), 1e-300
    ):
        note(RepeatabilityFact.NO_SCATTER)
        return result()
    components = variance_components(y, design.terms)
    found["components"] = components
    errors = _errors_of_measurement(y, trials, design.terms, components)
    coefficients = _coefficients(y, labels[MACHINE], design.terms, errors["sem"]) if ratio_scale else {}
    found |= errors | coefficients
    if ratio_scale and not coefficients:
        note(RepeatabilityFact.NOT_POSITIVE)
    for part in components.parts:
        if part.variance.value < 0.0:
            note(RepeatabilityFact.NEGATIVE_COMPONENT, component=part.name, variance=part.variance.value)
    if not components.exact:
        note(RepeatabilityFact.UNBALANCED)
    if design.terms:
        try:
            found["mixed"] = mixed_model(y, design.terms)
        except CoachingError:
            note(RepeatabilityFact.MIXED_MODEL_FAILED)
    if machines == 1:
        note(RepeatabilityFact.ONE_MACHINE, machine=labels[MACHINE][0])
        return result()
    if machines < FEW_MACHINES:
        note(RepeatabilityFact.FEW_MACHINES, machines=machines)
    found["correlations"] = _correlations(y, labels, nested or {}, trials, note)
    pairs, missing = compared_pairs(y, labels, compare, unit=unit)
    found["pairs"] = pairs
    for first, second, count in missing:
        note(RepeatabilityFact.NO_LIMITS, first=first, second=second, pairs=count)
    return result()


def _errors_of_measurement(
    y: Floats,
    trials: Mapping[str, Sequence[float]],
    terms: Mapping[str, np.ndarray],
    components: Components,
) -> dict[str, Estimate]:
    """Standard errors of a measurement made again, and within one occasion."""
    sem = _scatter(y, trials, terms, components)
    occasions = tuple(name for name in terms if name != REMOUNT)
    if not any(name != MACHINE for name in occasions):
        return {"sem": sem, "repeatability": sem}
    # Components below zero may bring the sum below its part.
    within = _root(components.total(without=occasions))
    sem = Estimate(max(sem.value, within.value), max(sem.lower, within.lower), max(sem.upper, within.upper))
    return {"sem": sem, "repeatability": within}


def _scatter(
    y: Floats,
    trials: Mapping[str, Sequence[float]],
    terms: Mapping[str, np.ndarray],
    components: Components,
) -> Estimate:
    """Standard deviation of everything but the machines."""
    if all(name == MACHINE for name in terms):
        return within_scatter(list(trials.values())).sem
    return _root(components.total(without=(MACHINE,)))


def _coefficients(
    y: Floats, machines: Sequence[str], terms: Mapping[str, np.ndarray], sem: Estimate
) -> dict[str, Estimate]:
    """Coefficients of variation; none where a value is not above zero."""
    if not (y > 0.0).all():
        return {}
    logs = np.log(y)
    sd = _scatter(logs, trials_of(logs, machines), terms, variance_components(logs, terms))
    with np.errstate(over="ignore"):
        # Limits of a scatter that the data leave open are infinite.
        log_cv = Estimate(*(100.0 * float(np.sqrt(np.expm1(s**2))) for s in (sd.value, sd.lower, sd.upper)))
    return {"cv_percent": sem.scaled(100.0 / float(y.mean())), "log_cv_percent": log_cv}


def _root(variance: Estimate) -> Estimate:
    return Estimate(*(float(np.sqrt(each)) for each in (variance.value, variance.lower, variance.upper)))


def _correlations(
    y: Floats,
    labels: Mapping[str, Sequence[str]],
    nested: Mapping[str, str],
    trials: Mapping[str, Sequence[float]],
    note: Callable[..., None],
) -> tuple[IntraclassCorrelation, ...]:
    """All six forms where machines share their occasions, else the one-way ones; none where values do not scatter."""
    crossed = None if MACHINE in nested.values() else common_table(y, labels)
    try:
        if crossed is not None:
            table, kept, left_out = crossed
            if left_out:
                note(RepeatabilityFact.MACHINES_LEFT_OUT, machines=", ".join(left_out), kept=len(kept))
            return intraclass_correlations(table)
        note(RepeatabilityFact.ONLY_ONE_WAY)
        return one_way_only(list(trials.values()))
    except CoachingError:
        note(RepeatabilityFact.NO_SCATTER)
        return ()
