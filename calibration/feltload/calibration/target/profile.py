"""Targets compared with a profile, measured or predicted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.calibration.target.compatible import require_compatible
from feltload.calibration.target.judgement import Judgement, judge_target
from feltload.calibration.target.placed import PlacedTarget, place_target
from feltload.calibration.target.target import Target, TargetScale
from feltload.core import NORMAL_COVERAGE_95, Floats, interpolation_weights, mass_text
from feltload.signal import ProfileEstimate

_SAME_LOAD_KG: Final = 0.001


def judge_profile(estimate: ProfileEstimate, targets: Sequence[Target]) -> tuple[Judgement, ...]:
    """Compare a profile with targets, each at its own load, or at every load where it names none.

    Raises
    ------
    TargetError
        A target lies outside the travel or is for a load that the profile does not have, wants a force and leaves open
        which of several loads it is for, or the targets contradict one another. A limit alone is for every load.
    """
    pairs = [(k, target) for target in targets for k in _loads(estimate, target)]
    covered = [np.flatnonzero(np.isfinite(row)) for row in estimate.static_n]
    placed = [
        (k, place_target(target, estimate.travel, estimate.angle_rad[covered[k]])) for k, target in pairs
    ]
    for k in range(estimate.loads_kg.size):
        require_compatible([each for index, each in placed if index == k])
    return tuple(_judged(estimate, k, each, covered[k]) for k, each in placed)


def _loads(estimate: ProfileEstimate, target: Target) -> list[int]:
    loads = estimate.loads_kg
    known = ", ".join(mass_text(load) for load in loads)
    if target.load_kg is None:
        if target.scale is TargetScale.NEWTONS and not target.limits_alone and loads.size > 1:
            raise TargetError(
                f"is in newtons, and there are several loads ({known})",
                where=target.text,
                remedy=f'say which it is for, such as "{target.text} with {mass_text(loads[-1])}"',
            )
        return list(range(loads.size))
    found = np.flatnonzero(np.abs(loads - target.load_kg) < _SAME_LOAD_KG)
    if not found.size:
        raise TargetError(
            f"is for {mass_text(target.load_kg)}, and the profile has {known}",
            where=target.text,
            remedy="name a load that the profile has",
        )
    return [int(found[0])]


def _judged(estimate: ProfileEstimate, k: int, placed: PlacedTarget, covered: np.ndarray) -> Judgement:
    knots = estimate.angle_rad[covered]
    if placed.at_rad[0] < knots[0] - 1e-9 or placed.at_rad[-1] > knots[-1] + 1e-9:
        raise TargetError(
            f"asks for positions that {mass_text(estimate.loads_kg[k])} did not cover",
            where=placed.target.text,
            remedy="measure that load through the whole travel, or keep the target within what it covered",
        )
    weights = interpolation_weights(knots, placed.at_rad).toarray()
    rows = k * estimate.angle_rad.size + covered
    covariance = weights @ estimate.covariance_n2[np.ix_(rows, rows)] @ weights.T
    return judge_target(
        placed,
        weights @ estimate.static_n[k, covered],
        covariance,
        load_kg=float(estimate.loads_kg[k]),
        friction_n=weights @ estimate.friction_n[k, covered],
        coverage=_coverage(estimate.static_u95_n[k, covered], estimate.covariance_n2[rows, rows]),
    )


def _coverage(u95_n: Floats, variance_n2: Floats) -> float:
    """Coverage factor that the profile's own band was made with; never less than a normal distribution's."""
    u = np.sqrt(np.maximum(variance_n2, 0.0))
    known = u > 1e-9
    return (
        max(NORMAL_COVERAGE_95, float(np.median(u95_n[known] / u[known])))
        if known.any()
        else NORMAL_COVERAGE_95
    )
