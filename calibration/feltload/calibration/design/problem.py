"""A design as a problem of numbers: parts of the bounds in, distances from the targets in tolerances out."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.design.free import FreeDimension
from feltload.calibration.errors import TargetError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.machine.reference import reference_of
from feltload.calibration.target.placed import PlacedTarget, place_target
from feltload.calibration.target.target import Target, TargetScale
from feltload.core import Flags, Floats
from feltload.signal import Travel, travel_of

_POINTS: Final = 25
_STOP_RAD: Final = math.radians(1.0)
"""A stop may be set a little off: a linkage that closes just so far is none."""
_ONE_PLACE_RAD: Final = 1e-4
_STEP: Final = 1e-5
"""Of the derivatives, as a part of the bounds: good to some 1e-9 of the derivative."""


@dataclass(frozen=True)
class Demand:
    """One target at one load."""

    load_kg: float
    placed: PlacedTarget


@dataclass(frozen=True)
class Problem:
    """What may move and what is wanted.

    Attributes
    ----------
    machine : Machine
        As it is today.
    free : tuple of FreeDimension
    demands : tuple of Demand
        Placed on the travel of the machine that they were last placed on.
    q_rad : ndarray, shape (n,)
        Rotations from the start stop at which the demands ask, and the whole travel: a machine that only comes together
        where it is asked is none.
    g_m_s2 : float
    """

    machine: Machine
    free: tuple[FreeDimension, ...]
    demands: tuple[Demand, ...]
    q_rad: Floats
    g_m_s2: float

    @property
    def today(self) -> Floats:
        """Today's dimensions as parts of their bounds, (k,); outside 0 to 1 where they have to move."""
        return np.array([each.today for each in self.free])

    def values(self, parts: Floats) -> Values:
        """Dimensions (SI) at parts of the bounds."""
        return {
            each.parameter.key: each.value(float(part)) for each, part in zip(self.free, parts, strict=True)
        }

    @functools.cached_property
    def loads_kg(self) -> tuple[float, ...]:
        """Every load that is asked for, ascending."""
        return tuple(sorted({demand.load_kg for demand in self.demands}))

    def forces_n(self, values: Values, q_rad: Floats | None = None) -> dict[float, Floats]:
        """Force midway between raising and lowering for each load at `q_rad` (n,), the problem's own unless given.

        Raises
        ------
        GeometryError
            The machine cannot be assembled so.
        """
        q = self.q_rad if q_rad is None else q_rad
        forces = self.machine.midway_forces_n(q, self.loads_kg, self.g_m_s2, changed=values)
        return dict(zip(self.loads_kg, forces, strict=True))

    def deviations(self, parts: Floats) -> Floats:
        """Distances from every target in units of its tolerance; infinite where no machine is, or none that resists.

        `parts` are of one design, (k,), or of many, (m, k); distances accordingly (n,) or (m, n).
        """
        return self._off(self._forces_of(parts), smooth=False)

    def deviations_of(self, parts: Floats, changed: Mapping[ParameterKey, Floats]) -> Floats:
        """The same of a design (k,) with some dimensions (SI) other than it has them, (m,) each; (m, n)."""
        return self._off(self.forces_of_many_n(parts, changed, self.q_rad), smooth=False)

    def forces_of_many_n(
        self, parts: Floats, changed: Mapping[ParameterKey, Floats], q_rad: Floats
    ) -> Floats:
        """Force of a design (k,) with some dimensions (SI) other than it has them, (m,) each, at `q_rad` (n,).

        Returns
        -------
        ndarray, shape (m, loads, n)
            NaN where a machine cannot be assembled.
        """
        count = max(values.size for values in changed.values())
        own = {key: np.full(count, value) for key, value in self.values(parts).items()}
        return self.machine.midway_forces_of_many_n(q_rad, self.loads_kg, self.g_m_s2, {**own, **changed})

    def residuals(self, parts: Floats) -> Floats:
        """The same as a smooth function of the dimensions: a free scale is that of least squares; (n,) or (m, n)."""
        return self._off(self._forces_of(parts), smooth=True)

    def miss(self, parts: Floats) -> float:
        """Largest distance from any target in units of its tolerance: at most 1 where all are met."""
        return float(np.abs(self.deviations(parts)).max())

    def jacobian(self, parts: Floats, moving: Sequence[int]) -> Floats:
        """Derivatives of the residuals by the parts of the bounds of the dimensions `moving`, (n, k).

        By central differences of machines that are computed at once; one-sided beside a machine that is none.
        """
        k = len(moving)
        shifts = np.zeros((k, parts.size))
        shifts[np.arange(k), list(moving)] = _STEP
        here, *there = np.split(
            self.residuals(np.concatenate((parts[None], parts + shifts, parts - shifts))), [1, k + 1]
        )
        # A search may look where no machine is.
        with np.errstate(invalid="ignore"):
            ahead, behind = there[0] - here, here - there[1]
        known = [np.isfinite(side) for side in (ahead, behind)]
        total = sum(np.where(good, side, 0.0) for good, side in zip(known, (ahead, behind), strict=True))
        count = known[0].astype(float) + known[1]
        return np.asarray((total / np.maximum(count, 1.0) / _STEP).T)

    @functools.cached_property
    def _asked(self) -> tuple[tuple[int, NDArray[np.intp]], ...]:
        """Index of each demand's load, and of the rotations at which it asks."""
        start = self.machine.start_angle.value
        return tuple(
            (self.loads_kg.index(each.load_kg), np.searchsorted(self.q_rad, each.placed.at_rad - start))
            for each in self.demands
        )

    def _forces_of(self, parts: Floats) -> Floats:
        """Forces of one design, (loads, n), or of many, (m, loads, n); NaN where there is no machine."""
        each = np.atleast_2d(parts)
        values = {
            free.parameter.key: free.low + column * free.span
            for free, column in zip(self.free, each.T, strict=True)
        }
        found = self.machine.midway_forces_of_many_n(self.q_rad, self.loads_kg, self.g_m_s2, values)
        return found if parts.ndim > 1 else found[0]

    def _off(self, forces_n: Floats, *, smooth: bool) -> Floats:
        off = []
        for demand, (load, places) in zip(self.demands, self._asked, strict=True):
            curve = forces_n[..., load, places]
            with np.errstate(invalid="ignore"):
                off.append(_smooth(demand.placed, curve) if smooth else demand.placed.deviations(curve))
        lost = np.asarray(~np.isfinite(forces_n).all(axis=(-2, -1)))
        return np.where(lost[..., None], np.inf, np.concatenate(off, axis=-1))


def _smooth(placed: PlacedTarget, force: Floats) -> Floats:
    if placed.target.scale is not TargetScale.FREE:
        return placed.deviations(force)
    scale = placed.least_squares_scale_n(force)[..., None]
    usable = scale > 0.0
    off = (force / np.where(usable, scale, 1.0) - placed.wanted) / placed.tolerance
    return np.where(usable, off, np.inf)


def design_travel(machine: Machine, travel_rad: float, values: Values | None = None) -> Travel:
    """The travel that a design is for, with `values` (SI) in place of today's."""
    changed = machine.with_parameters(values) if values else machine
    q = _travel_rad(travel_rad)
    # Demands are asked at rotations, whatever the start angle becomes.
    reference = reference_of(changed)
    return travel_of(reference, reference.start_angle_rad + q)


def _travel_rad(travel_rad: float) -> Floats:
    return np.linspace(min(travel_rad, 0.0), max(travel_rad, 0.0), _POINTS)


def make_problem(
    machine: Machine,
    free: Sequence[FreeDimension],
    targets: Sequence[Target],
    loads_kg: Sequence[float],
    travel_rad: float,
    g_m_s2: float,
    *,
    values: Values | None = None,
) -> Problem:
    """Place the targets on the travel of a machine.

    Parameters
    ----------
    machine : Machine
    free : sequence of FreeDimension
    targets : sequence of Target
        One with a load of its own is asked at that load, the others at every load.
    loads_kg : sequence of float
    travel_rad : float
        From the start stop; the same for every proposal.
    g_m_s2 : float
    values : mapping, optional
        Dimensions (SI) of the machine that the targets are placed on; today's unless given.

    Raises
    ------
    TargetError
        A target lies outside the travel, wants no force, or excludes another one.
    """
    travel = design_travel(machine, travel_rad, values)
    shift = machine.start_angle.value - travel.start_angle_rad
    demands = []
    for target in targets:
        moved = place_target(target, travel, travel.angle_rad).moved(shift)
        own = loads_kg if target.load_kg is None else (target.load_kg,)
        demands += [Demand(float(load), moved) for load in own]
    require_compatible_demands(demands)
    start = machine.start_angle.value
    asked = [each.placed.at_rad - start for each in demands]
    spare = np.array([-_STOP_RAD, _STOP_RAD]) + [min(travel_rad, 0.0), max(travel_rad, 0.0)]
    q = np.unique(np.concatenate([spare, _travel_rad(travel_rad), *asked]))
    return Problem(machine, tuple(free), tuple(demands), q, g_m_s2)


def require_compatible_demands(demands: Sequence[Demand]) -> None:
    """Refuse two forces at one place, and a force that is none.

    Raises
    ------
    TargetError
    """
    newtons = [each for each in demands if each.placed.target.scale is TargetScale.NEWTONS]
    for each in newtons:
        if np.all(_limits_n(each.placed)[1] <= 0.0):
            raise TargetError(
                "wants no force, or one that moves the handle by itself",
                where=each.placed.target.text,
                remedy="give a force above zero",
            )
    for one, other in itertools.combinations(newtons, 2):
        a, b = one.placed, other.placed
        if one.load_kg != other.load_kg:
            continue
        at = np.concatenate((a.at_rad[_within(a.at_rad, b)], b.at_rad[_within(b.at_rad, a)]))
        # A side without a limit is infinite, and between such places interpolates to none.
        with np.errstate(invalid="ignore"):
            lows, highs = zip(
                *([np.interp(at, p.at_rad, end) for end in _limits_n(p)] for p in (a, b)), strict=True
            )
        if np.any((lows[0] > highs[1]) | (lows[1] > highs[0])):
            raise TargetError(
                f'excludes "{b.target.text}": no machine has both forces in one place with {one.load_kg:.4g} kg',
                where=a.target.text,
                remedy="leave one of them out, widen a tolerance, or name different places or loads",
            )


def _limits_n(placed: PlacedTarget) -> tuple[Floats, Floats]:
    return placed.limits_n(np.ones(placed.at_rad.size))


def _within(at_rad: Floats, placed: PlacedTarget) -> Flags:
    """Whether each place is one at which a target is asked."""
    if placed.target.between:
        return np.asarray((at_rad >= placed.at_rad[0]) & (at_rad <= placed.at_rad[-1]))
    return np.asarray(np.isclose(at_rad[:, None], placed.at_rad, atol=_ONE_PLACE_RAD).any(axis=1))
