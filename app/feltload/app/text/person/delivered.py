"""What a partner gave by hand, in plain words: as it was, and compared with the plan."""

from __future__ import annotations

import numpy as np

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import force_text, hand_force, number
from feltload.app.text.person.hands import VERBS
from feltload.app.text.position import describe_position, short_position, stretch_text
from feltload.coaching import (
    FEELABLE_N,
    ComparedStretch,
    DeliveredHelp,
    HelpPlan,
    HelpVerdict,
    Phase,
    compare_with_plan,
)
from feltload.signal import Travel

LEAST_SAID_N = 0.5
"""Below this nothing is said of what play looks like."""

VERDICTS = {
    HelpVerdict.RIGHT: "right",
    HelpVerdict.TOO_MUCH: "too much",
    HelpVerdict.TOO_LITTLE: "too little",
    HelpVerdict.OPPOSITE: "the opposite of the plan",
    HelpVerdict.UNEVEN: "not even",
    HelpVerdict.UNDETERMINED: "whether that is right cannot be determined",
}


def describe_delivered(delivered: DeliveredHelp, plan: HelpPlan | None, along: Travel) -> list[str]:
    """What a partner gave, and how it compares with the plan."""
    compared = [
        *_describe_ahead(delivered),
        *([] if plan is None else describe_compared(compare_with_plan(delivered, plan), along)),
    ]
    if not delivered.helped:
        count = len({half.repetition for half in delivered.half_repetitions})
        least = max(FEELABLE_N, float(np.nanmax(delivered.u95_n(Phase.CONCENTRIC))))
        return [
            f"No help is seen in {count} repetition{'s' if count != 1 else ''}: what is left lies within "
            f"± {hand_force(least)} of zero.",
            *compared,
        ]
    lines = [line for phase in Phase for line in _describe_phase(delivered, phase, along)]
    return [
        *(lines or ["Help and resistance came and went; on the mean nothing stands out at one position."]),
        *compared,
    ]


def describe_help_headline(given: DeliveredHelp, plan: HelpPlan | None, along: Travel) -> str:
    """The verdict in one sentence: in how many parts of the plan the help was right, and where it was worst."""
    if plan is None:
        return describe_delivered(given, None, along)[0]
    compared = compare_with_plan(given, plan)
    judged = [each for each in compared if each.verdict not in UNJUDGED]
    if not judged:
        return "Whether the help was as planned cannot be determined: too little of the plan was measured."
    right = [each for each in judged if each.verdict is HelpVerdict.RIGHT and not each.partly_opposite]
    if len(right) == len(judged):
        return f"The help was as planned in {_parts(len(judged))} that could be measured."
    wrong = max((each for each in judged if each not in right), key=_off)
    begun = f"The help was as planned in {len(right)} of {_parts(len(judged))}" if right else NOT_AS_PLANNED
    verdict = f"{VERDICTS[wrong.verdict]}{', and in part the opposite' if wrong.partly_opposite else ''}"
    return f"{begun}; most off while {VERBS[wrong.phase]}, {_range(wrong, along)}: {verdict} ({_planned(wrong)})."


def _planned(compared: ComparedStretch) -> str:
    if abs(compared.planned_n) < LEAST_SAID_N:
        return "hands off was planned"
    return f"{'help' if compared.planned_n > 0.0 else 'resistance'} was planned"


NOT_AS_PLANNED = "The help was not as planned"
UNJUDGED = (HelpVerdict.NOT_MEASURED, HelpVerdict.UNDETERMINED)
"""Verdicts that say neither right nor wrong."""


def _parts(count: int) -> str:
    return "the one part" if count == 1 else f"{count} parts"


def _off(compared: ComparedStretch) -> float:
    """How far help was from its plan in a stretch, at the worst place."""
    pairs = (
        (compared.given_n, compared.planned_n),
        (compared.worst_given_n, compared.worst_planned_n),
    )
    return float(np.nanmax([0.0, *(abs(given - planned) for given, planned in pairs)]))


def help_key_figures(given: DeliveredHelp, along: Travel) -> tuple[KeyFigure, ...]:
    """The greatest help and the greatest resistance on each way, as the mean over the repetitions."""
    figures = []
    for phase in Phase:
        mean = given.mean_n(phase)
        if not np.isfinite(mean).any():
            continue
        most = int(np.nanargmax(np.abs(mean)))
        what = "help" if mean[most] >= 0.0 else "resistance"
        figures.append(
            KeyFigure(
                f"Most {what}, {VERBS[phase]}",
                hand_force(abs(float(mean[most]))),
                f"± {hand_force(float(given.u95_n(phase)[most]))}, at "
                f"{describe_position(float(given.angle_rad[most]), along)}",
            )
        )
    return tuple(figures)


def _describe_ahead(delivered: DeliveredHelp) -> list[str]:
    """What a machine that gives makes look like help."""
    if delivered.ahead_n < LEAST_SAID_N:
        return []
    return [
        "The machine gives between sensor and load: the angle of this set runs up to "
        f"{number(float(np.degrees(delivered.ahead_rad)), '.1f')}° ahead of the profile's, which alone can look like "
        f"{force_text(delivered.ahead_n)} of help or resistance, beside the ± given here."
    ]


def describe_compared(compared: tuple[ComparedStretch, ...], along: Travel) -> list[str]:
    """One line a phase, its stretches in the order in which the arm passes them."""
    lines = []
    for phase in Phase:
        passed = [each for each in compared if each.phase == phase]
        if phase == Phase.ECCENTRIC:
            passed.reverse()
        told = "; ".join(describe_compared_stretch(each, along) for each in passed)
        lines.append(f"Compared with the plan, {VERBS[phase]}, by part of the travel: {told}.")
    return lines


def describe_compared_stretch(compared: ComparedStretch, along: Travel) -> str:
    """``60 to 81 % (17° to 32°), planned about 30 N of help, gave 12 N (± 5 N): too little``."""
    planned = compared.planned_n
    told = f"planned about {_by_hand(planned)}" if abs(planned) >= 0.5 else "planned hands off"
    where = f"{_range(compared, along)}, {told}"
    if compared.verdict == HelpVerdict.NOT_MEASURED:
        return f"{where}: what was given was not measured"
    band = f"(± {hand_force(compared.u95_n)})"
    said = f"{where}, gave {_given(compared)} {band}: {VERDICTS[compared.verdict]}"
    there = (
        f"{_by_hand(compared.worst_given_n)} at {short_position(compared.worst_rad, along)}, where "
        f"{_by_hand(compared.worst_planned_n)} was planned"
    )
    if compared.partly_opposite:
        return f"{said}, and in part the opposite ({there})"
    return f"{said} ({there})" if compared.verdict == HelpVerdict.UNEVEN else said


def _range(compared: ComparedStretch, along: Travel) -> str:
    ends = (compared.planned.from_rad, compared.planned.to_rad)
    first, last = ends if compared.phase == Phase.CONCENTRIC else ends[::-1]
    return stretch_text(first, last, along)


def _given(compared: ComparedStretch) -> str:
    """What was given; its direction only where it is not the planned one."""
    given, planned = compared.given_n, compared.planned_n
    alike = given * planned > 0.0 and abs(given) >= 0.5
    return hand_force(abs(given)) if alike else _by_hand(given)


def _by_hand(help_n: float) -> str:
    if abs(help_n) < 0.5:
        return "nothing"
    return f"{hand_force(abs(help_n))} of {'help' if help_n > 0.0 else 'resistance'}"


def _describe_phase(delivered: DeliveredHelp, phase: Phase, along: Travel) -> list[str]:
    mean, band = delivered.mean_n(phase), delivered.u95_n(phase)
    if not np.isfinite(mean).any():
        return []
    lines = []
    for sign, what in ((1.0, "help was greatest"), (-1.0, "resistance was added most")):
        greatest = int(np.nanargmax(sign * mean))
        if sign * mean[greatest] <= max(band[greatest], FEELABLE_N):
            continue
        given = sign * np.array(
            [half.help_n[greatest] for half in delivered.half_repetitions if half.phase == phase]
        )
        given = given[np.isfinite(given)]
        lines.append(
            f"While {VERBS[phase]}, {what} at {describe_position(float(delivered.angle_rad[greatest]), along)}: "
            f"{force_text(sign * mean[greatest])} ± {hand_force(band[greatest])}, from {hand_force(given.min())} to "
            f"{hand_force(given.max())} over {given.size} repetitions."
        )
    return lines
