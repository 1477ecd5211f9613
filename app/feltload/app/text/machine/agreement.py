"""What a comparison of a measured profile with the machine file says, and the free swing beside it."""

from __future__ import annotations

from feltload.app.text.calibration import looks_like
from feltload.app.text.machine.causes import (
    beside_in_words,
    best_in_words,
    cause_in_words,
    hint_in_words,
    tied_in_words,
    tilt_in_words,
    travel_in_words,
    unseen_in_words,
)
from feltload.app.text.machine.dimensions import change_in_words, dimension_names
from feltload.app.text.numbers import load_text, number, sentence, short_force, signed_force
from feltload.app.text.position import describe_position
from feltload.calibration import Agreement, CurvePoint, ExplanationKind, Observation, SwingCheck


def agreement_text(agreement: Agreement) -> str:
    """The verdict's size, its cause, and what it rests on."""
    sentences = {
        ExplanationKind.NOTHING_DIFFERS: _agrees,
        ExplanationKind.BANDS_TOO_WIDE: _too_wide,
        ExplanationKind.DIMENSIONS_MOVED: _moved,
        ExplanationKind.OTHER_LOADS: _other_loads,
        ExplanationKind.BEYOND_DIMENSIONS: _beyond,
    }[agreement.explanation_kind](agreement)
    sentences += hint_in_words(agreement.start_hint) + tilt_in_words(agreement)
    if not agreement.first_order:
        sentences.append("The survey is too uncertain for a linear model; its band is from Monte Carlo.")
    if agreement.default_u:
        sentences.append(f"Default uncertainties were used for {dimension_names(agreement.default_u, ', ')}.")
    return " ".join(sentences)


def _agrees(agreement: Agreement) -> list[str]:
    with_it = ", and the felt inertia with its course along the travel," if _has_inertia(agreement) else ""
    return [
        f"The measured force{with_it} agrees with the surveyed geometry within {agreement.band_percent:.1f} % of the "
        f"peak (mean 95 % band); the largest difference is {_size(agreement.largest, agreement)}.",
        *unseen_in_words(agreement.unseen, tilt_measured=agreement.tilt is not None),
    ]


def _has_inertia(agreement: Agreement) -> bool:
    return any(row.kind is Observation.FELT_INERTIA for row in agreement.beside)


def _too_wide(agreement: Agreement) -> list[str]:
    return [
        f"The bands are too wide to decide: together they are ±{agreement.band_percent:.0f} % of the peak (limit "
        "10 %). Measure the dimensions that weigh most again, or record more repetitions."
    ]


def _differs(agreement: Agreement) -> str:
    if agreement.en_max <= agreement.en_limit and beside_in_words(agreement):
        return (
            "The force agrees position by position, but what was measured beside it does not: the largest difference "
            f"of the force is {_size(agreement.largest, agreement)}."
        )
    return f"The measured force differs from the surveyed geometry: {_size(agreement.largest, agreement)}."


def describe_score(agreement: Agreement) -> str:
    """What decided, and how to read it beside the curve of E_n."""
    score, limit = agreement.score, agreement.en_limit
    words = f"Score {score:.2f}; above 1 the force differs from the machine file."
    if score <= 1.0:
        return f"{words} E_n stays within ±{limit:.2f}, the limit for the whole curve at once."
    if agreement.en_max > limit:
        return f"{words} E_n reaches {agreement.en_max:.2f}; its limit for the whole curve at once is {limit:.2f}."
    return (
        f"{words} No single position leaves the limits of E_n (±{limit:.2f}); what decides is the course of the whole "
        f"curve{', or what was measured beside the force' if agreement.beside else ''}."
    )


def _moved(agreement: Agreement) -> list[str]:
    explanation = agreement.explanation
    sentences = [_differs(agreement), *beside_in_words(agreement)]
    best = best_in_words(agreement)
    if best:
        sentences.append(f"It is explained if {best}.")
    sentences += travel_in_words(agreement) + tied_in_words(agreement)
    if explanation.load_instead is not None:
        part, percent = explanation.load_instead.part, 100.0 * explanation.load_instead.relative
        sentences.append(
            f"Weigh the {part.replace('_', ' ')} too: a load {abs(percent):.1f} % "
            f"{'heavier' if percent > 0 else 'lighter'} than recorded would look the same."
        )
    return sentences


def _load_sentences(agreement: Agreement) -> list[str]:
    return [
        sentence(f"the load {looks_like(load.value_kg, load.u95_kg, load.stated_kg)}.")
        for load in agreement.explanation.loads
    ]


def _other_loads(agreement: Agreement) -> list[str]:
    explanation = agreement.explanation
    sentences = [*_load_sentences(agreement), "Check which plates were on it before anything else."]
    if explanation.causes:
        changes = "; and ".join(change_in_words(cause) for cause in explanation.causes)
        sentences.append(f"Beside that, {changes}.")
    others = [cause_in_words(other) for other in explanation.tied if not other.loads_kg]
    if others:
        sentences.append(f"If the load is right, this would explain it as well: {'; or '.join(others)}.")
    return [*sentences, _differs(agreement)]


def _beyond(agreement: Agreement) -> list[str]:
    sentences = [*_load_sentences(agreement), _differs(agreement), *beside_in_words(agreement)]
    remaining = agreement.explanation.remaining
    if agreement.explanation.best is None:
        sentences.append(
            "No plausible change of up to three dimensions explains half of it: a part is missing from the machine "
            "file (a spring, band, chain or damper, a plate that is picked up on the way), something rubs or hits, "
            "somebody helped, or the file is of another machine."
        )
    elif remaining is not None:
        sentences.append(
            "No plausible change of up to three dimensions explains it: after the best fit "
            f"{signed_force(remaining.difference_n)} remain {_place(remaining, agreement)}, which geometry cannot "
            "explain (something may rub, hit or be missing from the machine file there)."
        )
    if agreement.explanation.causes:
        sentences.append(f"Closest is: {best_in_words(agreement)}.")
    return sentences


def _size(point: CurvePoint, agreement: Agreement) -> str:
    more = "more" if point.difference_n > 0 else "less"
    return f"{short_force(abs(point.difference_n))} {more} than predicted {_place(point, agreement)}"


def _place(point: CurvePoint, agreement: Agreement) -> str:
    return f"at {describe_position(point.angle_rad, agreement.travel)} with {load_text(point.load_kg)}"


def swing_text(check: SwingCheck) -> str:
    """What a free swing of the unloaded arm says about the survey."""
    verdict = "agrees with" if check.agrees else "differs from"
    score = number(check.en, ".2f")
    return (
        f"The free swing gives m g d / I = {check.swing.moment_over_inertia:.3f} 1/s², which {verdict} the surveyed "
        f"arm's {check.predicted:.3f} 1/s² (E_n {score})."
    )
