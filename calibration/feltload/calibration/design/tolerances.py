"""What the shop's tolerances do to the curve of a proposed design: worst case, and by drawn machines.

Source of the tolerances: ISO 2768-1:1989, general tolerances for linear dimensions, class m (table 1), and for angular
dimensions, class m (table 3), both from memory. They hold for the dimensions that are changed; the others are as
well known as the machine file says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.problem import Problem
from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.core import Floats

_LINEAR_MM: Final = (
    (6.0, 0.1),
    (30.0, 0.2),
    (120.0, 0.3),
    (400.0, 0.5),
    (1000.0, 0.8),
    (2000.0, 1.2),
    (4000.0, 2.0),
)
_ANGULAR: Final = math.radians(0.5)
"""Of an angle whose shorter leg is 10 to 50 mm."""
_OTHER: Final = 0.02
"""Of a mass, stiffness or other part that is bought, as a part of its value (common practice, no source)."""
_DRAWS: Final = 600
_STEP: Final = 0.01
_NOTHING_N: Final = 1e-6
_SURVEY_LIMIT: Final = 2.0
"""Standard uncertainties of a dimension that is not changed, in a worst case."""


@dataclass(frozen=True)
class ToleranceOf:
    """What one dimension's tolerance does.

    Attributes
    ----------
    key : ParameterKey
    half : float
        Half of the tolerance, SI.
    made : bool
        Whether it is changed by the design; otherwise the tolerance is how well the machine file knows it.
    change_n : float
        Largest change of the force by it, over all loads and positions.
    """

    key: ParameterKey
    half: float
    made: bool
    change_n: float


@dataclass(frozen=True)
class ToleranceStudy:
    """Machines within their tolerances.

    Attributes
    ----------
    dimensions : tuple of ToleranceOf
        What does most first; those that do nothing are left out.
    worst_n : ndarray, shape (m, n)
        Half-width of the force with every tolerance at its worst, per load and rotation.
    low_n, high_n : ndarray, shape (m, n)
        Between them lie 95 % of the drawn machines, per load and rotation.
    worst_miss : float
        Largest distance from the targets in the worst case, in tolerances of the targets.
    meeting : float
        Part of the drawn machines that meets every target.
    draws : int
    """

    dimensions: tuple[ToleranceOf, ...]
    worst_n: Floats
    low_n: Floats
    high_n: Floats
    worst_miss: float
    meeting: float
    draws: int


def general_tolerance(parameter: Parameter, value: float) -> float:
    """Half of the general tolerance (SI) of a dimension of `value` (SI): ISO 2768-m (from memory)."""
    if parameter.unit in ("deg", "°", "degree", "degrees", "rad", "radian"):
        return _ANGULAR
    if parameter.unit in ("mm", "cm", "m", "in", "inch", "inches", "ft"):
        size = abs(value) * 1e3
        return next((half for most, half in _LINEAR_MM if size <= most), 2.0) * 1e-3
    return _OTHER * abs(value)


def study_tolerances(
    problem: Problem, parts: Floats, made: frozenset[ParameterKey], q_rad: Floats, *, seed: int
) -> ToleranceStudy:
    """Vary every dimension of a design within its tolerance.

    Parameters
    ----------
    problem : Problem
    parts : ndarray, shape (k,)
        The design.
    made : frozenset of ParameterKey
        Dimensions that are changed.
    q_rad : ndarray, shape (n,)
        Rotations at which the curve is shown.
    seed : int
        Of the draws: dimensions changed evenly within their tolerance, the others normally distributed.
    """
    design = problem.machine.with_parameters(problem.values(parts))
    halves = {
        p.key: general_tolerance(p, p.value) if p.key in made else _SURVEY_LIMIT * p.u
        for p in design.parameters
    }
    tried = [p for p in design.parameters if halves[p.key] > 0.0]
    values, half = (np.array([of(p) for p in tried]) for of in (lambda p: p.value, lambda p: halves[p.key]))

    def built(amounts: Floats) -> Mapping[ParameterKey, Floats]:
        """Machines off by parts of the tolerances, (m, p)."""
        return {p.key: column for p, column in zip(tried, (values + half * amounts).T, strict=True)}

    steps = _STEP * np.eye(len(tried))
    ends = built(np.concatenate((steps, -steps)))
    by_force, by_off = (
        _slopes(each)
        for each in (problem.forces_of_many_n(parts, ends, q_rad), problem.deviations_of(parts, ends))
    )
    largest = np.abs(by_force).max(axis=(1, 2))
    counts = np.flatnonzero(largest > _NOTHING_N)
    dimensions = [
        ToleranceOf(tried[i].key, float(half[i]), tried[i].key in made, float(largest[i]))
        for i in counts[np.argsort(-largest[counts], kind="stable")]
    ]
    rng = np.random.default_rng(seed)
    even = rng.uniform(-1.0, 1.0, (_DRAWS, len(tried)))
    normal = rng.standard_normal((_DRAWS, len(tried))) / _SURVEY_LIMIT
    drawn = built(np.where([p.key in made for p in tried], even, normal))
    curves = problem.forces_of_many_n(parts, drawn, q_rad)
    # A drawn linkage may fail to close.
    curves = curves[np.isfinite(curves).all(axis=(1, 2))]
    base = problem.forces_of_many_n(parts, built(np.zeros((1, len(tried)))), q_rad)
    low, high = np.quantile(curves if curves.size else base, [0.025, 0.975], axis=0)
    off = np.abs(problem.deviations(parts))
    met = np.abs(problem.deviations_of(parts, drawn)).max(axis=-1) <= 1.0
    return ToleranceStudy(
        tuple(dimensions),
        np.abs(by_force).sum(axis=0),
        low,
        high,
        float(np.max(off + np.abs(by_off).sum(axis=0))),
        float(np.mean(met)),
        _DRAWS,
    )


def _slopes(ends: Floats) -> Floats:
    """Change for a whole half tolerance of each dimension, (p, ...), from both ends, (2 p, ...)."""
    more, less = np.split(ends, 2)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.nan_to_num((more - less) / (2.0 * _STEP), posinf=0.0, neginf=0.0))
