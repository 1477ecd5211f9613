"""What the shop's tolerances do to the curve of a proposed design: worst case, and by drawn machines.

Source of the tolerances: ISO 2768-1:1989, general tolerances for linear dimensions, class m (table 1), and for angular
dimensions, class m (table 3), both from memory. They hold for the dimensions that are changed; the others are as
well known as the machine file says.
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.problem import Problem
from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.mechanism import Values
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
_STEP: Final = 0.1
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
    base = _curves(problem, {}, q_rad, parts)
    off = problem.deviations(parts)
    dimensions, worst, worst_off = [], np.zeros_like(base), np.zeros_like(off)
    for p in design.parameters:
        half = halves[p.key]
        if half <= 0.0:
            continue
        ends = [{p.key: p.value + sign * _STEP * half} for sign in (1.0, -1.0)]
        more, less = (_curves(problem, end, q_rad, parts) for end in ends)
        slope = (more - less) / (2.0 * _STEP)
        largest = float(np.abs(slope).max())
        if largest <= 1e-6:
            continue
        dimensions.append(ToleranceOf(p.key, half, p.key in made, largest))
        worst += np.abs(slope)
        above, below = (problem.deviations_of(parts, end) for end in ends)
        worst_off += np.abs(above - below) / (2.0 * _STEP)
    dimensions.sort(key=lambda each: -each.change_n)
    rng = np.random.default_rng(seed)
    drawn, met = [], 0
    tried = [(each, design.values[each.key]) for each in dimensions]
    for _ in range(_DRAWS):
        even, normal = rng.uniform(-1.0, 1.0, len(tried)), rng.standard_normal(len(tried))
        values = {
            each.key: value + each.half * (a if each.made else b / _SURVEY_LIMIT)
            for (each, value), a, b in zip(tried, even, normal, strict=True)
        }
        miss = float(np.abs(problem.deviations_of(parts, values)).max())
        met += miss <= 1.0
        if np.isfinite(miss):
            # Between the places that are asked a drawn linkage may still fail to close.
            with contextlib.suppress(GeometryError):
                drawn.append(_curves(problem, values, q_rad, parts))
    low, high = np.quantile(drawn, [0.025, 0.975], axis=0) if drawn else (base, base)
    return ToleranceStudy(
        tuple(dimensions),
        worst,
        low,
        high,
        float(np.max(np.abs(off) + worst_off)),
        met / _DRAWS,
        _DRAWS,
    )


def _curves(problem: Problem, changed: Values, q_rad: Floats, parts: Floats) -> Floats:
    """Force of the design with some dimensions changed, (m, n)."""
    values = {**problem.values(parts), **changed}
    return np.array(list(problem.forces_n(values, q_rad).values()))
