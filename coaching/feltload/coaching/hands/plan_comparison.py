"""Help as it was delivered compared with the plan: phase by phase of the plan, each with its verdict."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from feltload.coaching.hands.delivered import DeliveredHelp, Phase
from feltload.coaching.hands.hand import FEELABLE_N, HAND_STEP_N, shortest_stretch_rad
from feltload.coaching.hands.hand_advice import HelpStretch
from feltload.coaching.hands.help_plan import HelpPlan
from feltload.core import Flags, Floats, runs_of_true

LEEWAY_N = 2.0 * HAND_STEP_N
LEEWAY_SHARE = 0.25
"""What a hand may be off and still be right: two steps of what it feels, or this part of the plan (our own
convention)."""
FEWEST_MEASURED = 0.5
"""Part of a stretch that must have been measured for a verdict."""

FEWEST_OPPOSITE = 0.5
"""Part of a stretch over which help must have been the opposite for it to be called so (our own convention)."""


class HelpVerdict(StrEnum):
    """How delivered help compares with what was planned."""

    RIGHT = "right"
    TOO_MUCH = "too-much"
    TOO_LITTLE = "too-little"
    OPPOSITE = "opposite"
    UNEVEN = "uneven"
    UNDETERMINED = "undetermined"
    NOT_MEASURED = "not-measured"


@dataclass(frozen=True)
class ComparedStretch:
    """One stretch of the plan, and what was given there.

    Attributes
    ----------
    phase : Phase
    planned : HelpStretch
    planned_n, given_n, u95_n : float
        Means over the measured part of the stretch, positive along the raising direction: what the partner was told,
        what was given, and the half-width of its 95 % band (k = 2); NaN where it was not measured.
    verdict : HelpVerdict
        `OPPOSITE` only where it was so over half of the stretch; `UNEVEN` where the mean is right, but over 5° or more
        it certainly is not.
    partly_opposite : bool
        Whether hands certainly worked against the plan over 5° or more, but not over half of the stretch.
    worst_rad, worst_planned_n, worst_given_n : float
        Where what was given is furthest from the plan, and both there; where it is opposite, if that is a part only.
    """

    phase: Phase
    planned: HelpStretch
    planned_n: float
    given_n: float
    u95_n: float
    verdict: HelpVerdict
    partly_opposite: bool
    worst_rad: float
    worst_planned_n: float
    worst_given_n: float


def compare_with_plan(given: DeliveredHelp, plan: HelpPlan) -> tuple[ComparedStretch, ...]:
    """Compare what was given with what the plan told the partner, stretch by stretch, raising and lowering apart.

    The band of a mean over a stretch is the mean of the bands: most of the error is one along the travel, so that a
    longer stretch does not make it smaller.
    """
    return tuple(
        _compared(given, plan, phase, stretch) for phase in Phase for stretch in plan.stretches(phase)
    )


def verdict_of(planned_n: float, given_n: float, u95_n: float) -> HelpVerdict:
    """What the band decides about one mean: certain of it, or undetermined.

    Parameters
    ----------
    planned_n, given_n, u95_n : float
        Signed alike; where nothing was planned, all that is given is too much.
    """
    along = np.sign(planned_n) * given_n
    if along < -max(u95_n, FEELABLE_N):
        return HelpVerdict.OPPOSITE
    more = along - abs(planned_n) if planned_n else abs(given_n)
    if abs(more) + u95_n <= _leeway(planned_n):
        return HelpVerdict.RIGHT
    if abs(more) - u95_n > _leeway(planned_n):
        return HelpVerdict.TOO_MUCH if more > 0.0 else HelpVerdict.TOO_LITTLE
    return HelpVerdict.UNDETERMINED


def _leeway(planned_n: Floats | float) -> Floats:
    return np.maximum(LEEWAY_N, LEEWAY_SHARE * np.abs(planned_n))


def _compared(given: DeliveredHelp, plan: HelpPlan, phase: Phase, stretch: HelpStretch) -> ComparedStretch:
    # The angle that two stretches share belongs to the later one.
    last = stretch.to_rad == plan.angle_rad[-1]
    before = plan.angle_rad <= stretch.to_rad if last else plan.angle_rad < stretch.to_rad
    inside = (plan.angle_rad >= stretch.from_rad) & before
    angle, planned = plan.angle_rad[inside], plan.hand_n(phase)[inside]
    mean = np.interp(angle, given.angle_rad, given.mean_n(phase), left=np.nan, right=np.nan)
    u95 = np.interp(angle, given.angle_rad, given.u95_n(phase), left=np.nan, right=np.nan)
    seen = np.isfinite(mean) & np.isfinite(u95)
    if seen.mean() < FEWEST_MEASURED:
        told, unknown = float(planned.mean()), np.nan
        not_measured = HelpVerdict.NOT_MEASURED
        return ComparedStretch(
            phase, stretch, told, unknown, unknown, not_measured, False, unknown, unknown, unknown
        )
    angle, planned, mean, u95 = angle[seen], planned[seen], mean[seen], u95[seen]
    means = float(planned.mean()), float(mean.mean()), float(u95.mean())
    against = -np.sign(means[0]) * mean
    opposite = against > np.maximum(u95, FEELABLE_N)
    mostly = bool(opposite.mean() >= FEWEST_OPPOSITE)
    partly = not mostly and _reaches_far(angle, opposite)
    far = (np.abs(mean - planned) - u95) / _leeway(planned)
    verdict = verdict_of(*means)
    if verdict == HelpVerdict.OPPOSITE and not mostly:
        verdict = HelpVerdict.TOO_LITTLE
    off = any(_reaches_far(angle, (far > 1.0) & (sign * (mean - planned) > 0.0)) for sign in (1.0, -1.0))
    if verdict in (HelpVerdict.RIGHT, HelpVerdict.UNDETERMINED) and (off or partly):
        verdict = HelpVerdict.UNEVEN
    worst = int(np.argmax(against if partly else far))
    place = float(angle[worst]), float(planned[worst]), float(mean[worst])
    return ComparedStretch(phase, stretch, *means, verdict, partly, *place)


def _reaches_far(angle_rad: Floats, mask: Flags) -> bool:
    """Whether it holds over 5° or more without a break."""
    return any(
        angle_rad[stop - 1] - angle_rad[first] >= shortest_stretch_rad(angle_rad) - 1e-9
        for first, stop in runs_of_true(mask)
    )
