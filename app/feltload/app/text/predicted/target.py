"""Targets in words: met, not met or undetermined, where, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.app.text.numbers import NO_BREAK, force_with_band, load_text, short_force
from feltload.app.text.position import describe_position, short_span
from feltload.app.text.predicted.bands import PROFILE_BAND
from feltload.calibration import Judgement, OffTarget, Target, TargetScale, TargetVerdict
from feltload.signal import Travel

WORDS: Final = {
    TargetVerdict.MET: "Met",
    TargetVerdict.NOT_MET: "Not met",
    TargetVerdict.UNDETERMINED: "Cannot be determined",
}
"""The verdict by itself."""

_ALLOWED: Final = (
    "Hatched, or bars at single positions: what the target allows, for a relative target at the scale that suits the "
    "curve best."
)
_OPEN: Final = (
    "Where there is one limit alone, a strip of hatching or an arrow shows the side that is allowed."
)
HARDLY: Final = 0.2
"""Part of its band below which a distance is not given as a figure."""
DECISION: Final = (
    "A target is met where the whole curve lies within its limits with 95 % probability, given how well the curve is "
    "known; not met where that probability is 5 % or less and the curve is outside by more than its band somewhere; "
    "otherwise it cannot be determined."
)


def target_caption(judgements: Sequence[Judgement], *, measured: bool) -> str:
    """What the figure of targets shows."""
    shaded = "its 95 % band" if measured else PROFILE_BAND
    opens = f" {_OPEN}" if any(each.placed.target.one_sided for each in judgements) else ""
    return f"Line: the force to hold the handle still. Shaded: {shaded}. {_ALLOWED}{opens}"


def verdict_word(judgement: Judgement) -> str:
    """``Met``, ``Not met`` or ``Cannot be determined``."""
    return WORDS[judgement.verdict]


def describe_judgement(judgement: Judgement, travel: Travel, *, measured: bool) -> str:
    """One target at one load: the verdict and what it rests on.

    Parameters
    ----------
    judgement : Judgement
    travel : Travel
        Along which positions are given.
    measured : bool
        Whether the curve was measured, or predicted from dimensions.
    """
    details = describe_details(judgement, travel, measured=measured)
    return f"{target_name(judgement)}: {WORDS[judgement.verdict].lower()}. {details}".strip()


def target_name(judgement: Judgement) -> str:
    """``"falls 25(5) % from start to end" with 40 kg``; a load that the target names itself is not said twice."""
    target = judgement.placed.target
    return (
        f'"{target.text}"' if _names_load(target) else f'"{target.text}" with {load_text(judgement.load_kg)}'
    )


def _names_load(target: Target) -> bool:
    return target.load_kg is not None and " with " in target.text


def describe_details(judgement: Judgement, travel: Travel, *, measured: bool) -> str:
    """What a verdict rests on, without the verdict."""
    parts = [f"{part}." for part in (_change(judgement), *_off(judgement, travel)) if part]
    if judgement.verdict is TargetVerdict.MET:
        parts.append(_margin(judgement))
    if judgement.verdict is TargetVerdict.UNDETERMINED:
        better = "more repetitions or a certificate" if measured else "dimensions known better"
        why = (
            "No place is outside the limits by more than the band"
            if judgement.improbable
            else "That the whole curve lies within the limits has a probability of "
            f"{100.0 * judgement.probability:.0f}{NO_BREAK}%"
        )
        parts.append(f"{why}: a narrower band would decide it ({better}).")
    if not judgement.has_scale:
        parts.append(
            "The force that it is to be compared with is not above zero: the handle moves on by itself there."
        )
    if judgement.verdict is not TargetVerdict.NOT_MET and judgement.raised_above_n > 0.0:
        parts.append(
            f"This is the force to hold the handle still: raised slowly, friction takes it up to "
            f"{short_force(judgement.raised_above_n)} above the limit."
        )
    if np.any((judgement.force_n < 0.0) & ~judgement.placed.lower):
        parts.append(
            "Over part of it the handle moves on by itself, which a target without a lower limit allows."
        )
    return " ".join(part for part in parts if part)


def _change(judgement: Judgement) -> str:
    """By how much the force changes between two positions, where that is the target."""
    target = judgement.placed.target
    if (
        target.scale is not TargetScale.FIRST
        or target.between
        or target.at.size != 2
        or not judgement.has_scale
    ):
        return ""
    first = judgement.placed.first
    other = 1 - first
    change = 100.0 * (judgement.force_n[other] / judgement.force_n[first] - 1.0)
    return f"It {'falls' if change < 0.0 else 'rises'} by {abs(change):.1f}{NO_BREAK}%"


def _off(judgement: Judgement, travel: Travel) -> list[str]:
    return [
        f"{_by(each)} too {'heavy' if each.by_n > 0.0 else 'light'} {_where(each, travel)}"
        for each in judgement.off
    ]


def _by(off: OffTarget) -> str:
    """How far outside; a figure far below its band would be none."""
    if abs(off.by_n) < HARDLY * off.u95_n:
        return f"Hardly (by far less than its band, ±{NO_BREAK}{short_force(off.u95_n)})"
    return force_with_band(abs(off.by_n), off.u95_n)


def _where(off: OffTarget, travel: Travel) -> str:
    at = describe_position(off.at_rad, travel)
    if off.high_rad - off.low_rad < 1e-9:
        return f"at {at}"
    return f"at {at}, and outside the limits over {short_span((off.low_rad, off.high_rad), travel)}"


def _margin(judgement: Judgement) -> str:
    if judgement.margin_n <= 0.0:
        return ""
    return f"It keeps {short_force(judgement.margin_n)} from the nearest limit."
