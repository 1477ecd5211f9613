"""Sentences of the facts of a repeatability study: what cannot be had of it, and why."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from feltload.app.jobs.study.facts import StudyFact
from feltload.app.text.common import Sentence
from feltload.app.text.numbers import listed, load_text, short_force
from feltload.app.text.study.terms import term_name
from feltload.coaching import RepeatabilityFact
from feltload.core import Fact

QUANTITIES: Mapping[str, str] = {
    "peak": "peak force",
    "mean": "mean force",
    "end": "force at the end of the travel",
    "drop_off": "drop-off",
    "friction": "mean friction",
}
"""Quantity of a study -> its name in a sentence."""


def _of(words: Callable[[Fact], str]) -> Sentence:
    """The sentence, led by quantity and load where the fact has them."""

    def said(fact: Fact) -> str:
        quantity, load = fact.figures.get("quantity"), fact.figures.get("load_kg")
        parts = [] if quantity is None else [QUANTITIES[str(quantity)]]
        parts += [] if load is None else [f"with {load_text(float(str(load)))}"]
        return f"{' '.join(parts)}: {words(fact)}" if parts else words(fact)

    return said


def _where(fact: Fact) -> str:
    """The quantities of a whole study; nothing for one alone."""
    names = [QUANTITIES[name] for name in str(fact.figures.get("quantities", "")).split(",") if name]
    return f" for {listed(names)}" if names else ""


SENTENCES: Mapping[str, Sentence] = {
    StudyFact.FAR_OFF: lambda fact: (
        f"{fact.figures['measurement']}: its mean force with {load_text(fact.figure('load_kg'))} is "
        f"{short_force(fact.figure('value_n'))}, that of machine {fact.figures['machine']} usually "
        f"{short_force(fact.figure('usual_n'))}, which is further apart than measurements scatter here; it is in every "
        "figure: look at its own result first, and leave it out "
        f'(leave_out = ["{fact.figures["measurement"]}"]) only for a reason that can be stated'
    ),
    StudyFact.LEFT_OUT: lambda fact: f"left out by the study file: {fact.figures['measurements']}",
    StudyFact.CERTIFICATES_DIFFER: lambda fact: (
        f"the measurements rest on {fact.figure('certificates'):.0f} certificates of load cells: what these differ by "
        "is part of the scatter, under whatever label they changed with"
    ),
    StudyFact.CERTIFICATE_MISSING: lambda fact: (
        f"{fact.figure('without'):.0f} of {fact.figure('measurements'):.0f} measurements were made with a load cell "
        "without a certificate: forces of cells may differ by more than they repeat"
    ),
    RepeatabilityFact.NOTHING_REPEATED: _of(
        lambda _: (
            "each machine was measured once, so its scatter, the minimal difference and every correlation cannot be "
            "determined; measure each machine again, set up afresh"
        )
    ),
    RepeatabilityFact.ONE_MACHINE: _of(
        lambda fact: (
            f"{fact.figures['machine']} is the only machine: intraclass correlations and limits of agreement need "
            "several, and so does a test of curves; they are left out. Its scatter is given, also along the travel"
        )
    ),
    RepeatabilityFact.FEW_MACHINES: _of(
        lambda fact: (
            f"{fact.figure('machines'):.0f} machines: intraclass correlations of so few are known as poorly "
            "as their limits say"
        )
    ),
    RepeatabilityFact.ONLY_ONE_WAY: _of(
        lambda _: (
            "the machines have no occasions in common, so only the one-way correlations (forms 1,1 and 1,k) are given; "
            "name operator, day or remount alike for all machines where they are alike"
        )
    ),
    RepeatabilityFact.MACHINES_LEFT_OUT: _of(
        lambda fact: (
            f"{fact.figures['machines']} not measured on every occasion: the correlations are of the other "
            f"{fact.figure('kept'):.0f}"
        )
    ),
    RepeatabilityFact.NO_SCATTER: _of(
        lambda _: (
            "repeated values are equal to the last digit, which no measurement is: nothing is said of "
            "scatter; check that "
            "the files are not copies"
        )
    ),
    RepeatabilityFact.NOT_POSITIVE: _of(
        lambda _: "a value is zero or below, so there is no coefficient of variation"
    ),
    RepeatabilityFact.NO_LIMITS: _of(
        lambda fact: (
            f"{fact.figures['first']} and {fact.figures['second']} have {fact.figure('pairs'):.0f} machines in common: "
            "limits of agreement need three or more whose differences scatter"
        )
    ),
    RepeatabilityFact.ALIASED: _of(
        lambda fact: (
            f"{fact.figures['factor']} changed only together with {fact.figures['others']}: their scatter cannot be "
            "separated and is counted once"
        )
    ),
    RepeatabilityFact.NEGATIVE_COMPONENT: lambda fact: (
        f"the variance of {term_name(str(fact.figures['component']))} is estimated below zero{_where(fact)}: "
        "these data show no sign of it there, which is no proof that there is none"
    ),
    RepeatabilityFact.UNBALANCED: _of(
        lambda _: (
            "the numbers of measurements differ between cells: limits of the variance components are approximate"
        )
    ),
    RepeatabilityFact.MIXED_MODEL_FAILED: _of(
        lambda _: (
            "the mixed model found no maximum of its likelihood; the analysis of variance is given alone"
        )
    ),
    RepeatabilityFact.PERMUTATIONS_FEW: _of(
        lambda fact: (
            f"{fact.figure('machines'):.0f} machines allow {fact.figure('arrangements'):.0f} arrangements: "
            "a difference of "
            "curves cannot be established at 5 %, whatever its size; six machines or more can"
        )
    ),
}
"""Kind -> what is said of it."""
