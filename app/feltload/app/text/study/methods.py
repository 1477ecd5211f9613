"""The methods paragraph and the results of a study in sentences, for a paper; it claims what was done and no more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from feltload.app.jobs.study.measured import SHARES_PERCENT
from feltload.app.jobs.study.study import CurvePair, CurveStudy, NextStudy, Study, labels_of
from feltload.app.jobs.study.tables import unit_of
from feltload.app.text.numbers import listed, load_text, number, short_force
from feltload.app.text.study.facts import QUANTITIES
from feltload.app.text.study.numbers import correlation_text, is_open, plain, with_limits
from feltload.app.text.study.table import preferred
from feltload.app.text.study.terms import again_words, term_name
from feltload.coaching import RESIDUAL, QuantityAnalysis

CI = "95 % CI "
SHARED = (
    "Errors that all measurements share, such as the calibration of one load cell, do not scatter and are in none of "
    "these figures; the uncertainty budget of each result has them."
)


def methods_paragraph(study: Study) -> str:
    """What was measured and how it was analysed."""
    data, first = study.data, study.quantities[0].analysis if study.quantities else None
    labels = labels_of(data.rows)
    counts = [_count(len(set(values)), name) for name, values in labels.items()]
    loads = listed([load_text(load) for load in data.loads_kg])
    versions = listed(sorted({source.version for source in data.sources}))
    words = [
        *(["The data are invented: they come from an emulated machine."] if _invented(study) else []),
        f"{_count(len(data.sources), 'measurement').capitalize()} with {loads} were analysed ({listed(counts)}"
        f"{_crossed(study, labels)}).",
        *([f"Left out: {listed(list(study.plan.leave_out))}."] if study.plan.leave_out else []),
        f"Each gave a profile of the static force at the handle (feltload {versions}). On the part of the travel that "
        "all measurements of a machine cover were taken: the peak force, the mean force, the force at the end, the "
        "drop-off from the peak to the end in percent of the peak, and the mean friction.",
    ]
    if first is not None and first.sem is not None:
        words += _scatter_words(first, again_words(study))
    if first is not None and first.correlations:
        words.append(_correlation_words(first, labels))
    if any(each.analysis.pairs for each in study.quantities):
        words.append(
            "Limits of agreement (Bland and Altman 1986) are the mean difference ± 1.96 standard deviations of the "
            "machines' differences, with exact 95 % confidence intervals by the non-central t distribution "
            "(Carkeet 2015)."
        )
    if first is not None and first.sem is not None:
        words.append(
            "Along the travel the SEM was computed from the same components at each of 101 positions, with pointwise "
            "95 % confidence limits."
        )
    if any(curve.pairs for curve in study.curves):
        words.append(
            "Curves were compared at equal shares of this travel by exchanging the signs of the machines' "
            "differences; the largest |t| over the travel holds the error of 5 % over the whole curve "
            "(Nichols and Holmes "
            "2002)."
        )
    words.append(SHARED)
    return " ".join(words)


def _crossed(study: Study, labels: Mapping[str, Sequence[str]]) -> str:
    """Whether every combination was measured once; and what is nested, as the study file says."""
    nested = [f"{inner}s count within {outer}" for inner, outer in (study.plan.nested or {}).items()]
    cells = int(np.prod([len(set(values)) for values in labels.values()]))
    loads = len(study.data.loads_kg)
    combinations = set(zip(*labels.values(), strict=True))
    whole = len(study.data.rows) == loads * cells and len(combinations) == cells
    return "".join(f"; {words}" for words in (*(["each combination once"] if whole else []), *nested))


def _correlation_words(found: QuantityAnalysis, labels: Mapping[str, Sequence[str]]) -> str:
    if all(icc.form.startswith("1") for icc in found.correlations):
        return (
            "Intraclass correlations are the one-way forms of Shrout and Fleiss (1979) with F-based 95 % confidence "
            "intervals."
        )
    varied = [name for name in ("operator", "day", "remount") if len(set(labels.get(name, ()))) > 1]
    occasions = f", each combination of {listed(varied)} an occasion" if len(varied) > 1 else ""
    return (
        f"Intraclass correlations are all six forms of Shrout and Fleiss (1979){occasions}; 95 % confidence intervals "
        "of forms 1 and 3 are F-based, those of form 2 generalized (Ionan et al. 2014)."
    )


def _scatter_words(found: QuantityAnalysis, again: str) -> list[str]:
    design = found.design
    others = [name for name in design.terms if name != "machine"]
    words = [
        f"The standard error of measurement (SEM) is that of one measurement made again, {again}: the standard "
        "deviation of everything that scatters but the machines."
    ]
    if others:
        names = listed([term_name(name) for name in (*design.terms, RESIDUAL)])
        words.append(
            f"Variance components ({names}), all of them random, were estimated by analysis of variance "
            "(Henderson's method 3) with generalized 95 % confidence intervals (Hamada and Weerahandi 2000), and by "
            "restricted maximum likelihood for comparison; "
            "components may be estimated below zero."
        )
    else:
        words.append("It is pooled within machines, with chi-squared 95 % confidence limits.")
    if design.residual:
        words.append(f"The scatter of {listed(list(design.residual))} is part of the residual.")
    words.append(
        "The minimal difference is 1.96 √2 SEM (Weir 2005); the coefficient of variation (CV) is the SEM in "
        "percent of the "
        "mean."
    )
    return words


def results_sentences(study: Study) -> list[str]:
    """The main results in words, one sentence a result."""
    said = []
    for load_kg in study.data.loads_kg:
        peak = study.of("peak", load_kg)
        if peak is not None:
            said.append(_peak_words(load_kg, peak, again_words(study)))
        said += [words for curve in study.curves if curve.load_kg == load_kg for words in _curve_words(curve)]
    if any(each.analysis.sem is not None for each in study.quantities):
        said.append(SHARED)
    return said + _next_words(study)


def _peak_words(load_kg: float, found: QuantityAnalysis, again: str) -> str:
    unit, load = unit_of("peak"), load_text(load_kg)
    if found.sem is None or found.minimal_difference is None:
        mean = plain(found.mean, unit, like=1.0)
        return f"With {load} the {QUANTITIES['peak']} is {mean} on average; its scatter is not known."
    mean = plain(found.mean, unit, like=found.sem.value)
    words = (
        f"With {load} the {QUANTITIES['peak']} is {mean} on average. The standard error of one measurement made "
        f"again, {again} (SEM), is {with_limits(found.sem, unit, head=CI)}; two of one machine that differ by "
        f"less than {plain(found.minimal_difference.value, unit)} may be of the same force."
    )
    if is_open(found.sem) and found.repeatability == found.sem:
        words += " So few measurements leave it open, and a larger difference may be chance too."
    elif is_open(found.sem) and found.repeatability is not None:
        words += (
            " So few occasions leave open what another one adds, and a larger difference may be chance too: within "
            "one, the standard error is "
            f"{with_limits(found.repeatability, unit, head=CI)}."
        )
    icc = preferred(found.correlations)
    if icc is None:
        return words
    return f"{words} ICC({icc.form}) is {correlation_text(icc, head=CI)}."


def _curve_words(curve: CurveStudy) -> list[str]:
    pairs = [_pair_words(curve.load_kg, pair) for pair in curve.pairs if pair.test.can_decide]
    return [*_along_words(curve), *pairs]


def _along_words(curve: CurveStudy) -> list[str]:
    """Where along the travel the scatter is smallest and largest."""
    if curve.statistics is None:
        return []
    sem = curve.statistics.sem
    at = [int(np.argmin(sem)), int(np.argmax(sem))]
    ends = [f"{plain(float(sem[k]), 'N')} at {number(float(SHARES_PERCENT[k]), '.0f')} %" for k in at]
    return [
        f"Along the travel the SEM with {load_text(curve.load_kg)} lies between {ends[0]} of the travel and {ends[1]}, "
        "each position by itself."
    ]


def _pair_words(load_kg: float, pair: CurvePair) -> str:
    test = pair.test
    p = number(test.p, ".3f")
    of = f"{pair.factor} {pair.first} and {pair.second} ({pair.machines} machines)"
    head = f"With {load_text(load_kg)}, curves of {of}"
    if not test.established.any():
        return f"{head} do not differ anywhere by more than chance (p = {p}), which is no proof of equality."
    share = number(100.0 * float(test.established.mean()), ".0f")
    return f"{head} differ over {share} % of the travel (p = {p})."


def _next_words(study: Study) -> list[str]:
    wanted, of = study.plan, study.next_study
    said = []
    for load_kg, count in of.to_average.items():
        difference = short_force(wanted.wanted_difference_n or 0.0)
        said.append(
            f"For a minimal difference of {difference} in the peak force with {load_text(load_kg)}, "
            + (
                "one measurement is enough"
                if count == 1
                else f"average {count} measurements, each made again ({again_words(study)})"
            )
            + ", if the SEM is as found here"
            + _doubt(study.of("peak", load_kg))
        )
    if of.machines is not None:
        said.append(_machines_words(of, wanted.wanted_correlation or 0.0, wanted.wanted_width or 0.0))
    return said


def _doubt(found: QuantityAnalysis | None) -> str:
    """A full stop, and before it how large the standard error may be where the study leaves it open."""
    if found is None or found.sem is None or not is_open(found.sem):
        return "."
    return f"; it may be as large as {plain(found.sem.upper, 'N')}."


def _machines_words(of: NextStudy, correlation: float, width: float) -> str:
    return (
        f"For an intraclass correlation of about {correlation:g} with a 95 % confidence interval no wider "
        f"than {width:g}, "
        f"measure {of.machines} machines, {of.measurements} times each (Bonett 2002)."
    )


def _count(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _invented(study: Study) -> bool:
    return any(source.invented for source in study.data.sources)
