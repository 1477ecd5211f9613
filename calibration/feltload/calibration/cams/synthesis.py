"""The table of moment arms that gives a wanted force along the travel.

At each rotation the force at the handle grows in proportion to the moment arm, but for what rides on the drum itself
and for springs on the stack, which depend on how far it has been wound. So arms are found in rounds: with the work of
the last arms, the next ones follow. Where the exact arms would make the cam hollow, or bend the cable too sharply, the
nearest arms that do not are found by linear programming: the force's largest miss, in units of its tolerance, becomes
least, subject to the outline's curvature.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.cams.checks import ROOM_RAD, least_radius_m
from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.cable import Cable
from feltload.calibration.machine.mechanisms.leaving import CableLeaving
from feltload.core import Floats

ARM_LIMITS_M: Final = (0.01, 0.5)
"""Least and greatest moment arm of a cam that a person's machine has (common practice, no source)."""
_ROUNDS: Final = 60
_SETTLED_M: Final = 1e-9
_SMALL: Final = 1e-3
_SPARE: Final = 1.03
"""Between rows the outline is bent a little more than at them."""
_LEAST_RADIUS_M: Final = 0.001
"""Of a cable whose thickness is not known."""


@dataclass(frozen=True)
class WantedForce:
    """What a cam is to give.

    Attributes
    ----------
    q_rad : ndarray, shape (n,)
        Rotations from the start stop, ascending and evenly spaced: the cam's rows.
    loads_kg : ndarray, shape (m,)
        Loads to serve.
    force_n, tolerance_n : ndarray, shape (m, n)
        Force midway between raising and lowering, and how far it may miss.
    """

    q_rad: Floats
    loads_kg: Floats
    force_n: Floats
    tolerance_n: Floats


@dataclass(frozen=True)
class CamTable:
    """A cam's table and what it gives.

    Attributes
    ----------
    q_rad, arm_m : ndarray, shape (n,)
        Its rows.
    force_n : ndarray, shape (m, n)
        Force that it gives at each load.
    miss : float
        Largest miss of the wanted force, in units of its tolerance: at most 1 where the cam meets it.
    bounded : bool
        Whether curvature or the limits of the moment arm kept the cam from the exact force.
    """

    q_rad: Floats
    arm_m: Floats
    force_n: Floats
    miss: float
    bounded: bool


def synthesise_cam(
    machine: Machine,
    wanted: WantedForce,
    g_m_s2: float,
    *,
    limits_m: tuple[float, float] = ARM_LIMITS_M,
) -> CamTable:
    """Find the cam of a cable machine.

    Parameters
    ----------
    machine : Machine
        A cable machine with a drum or a cam, which the new one replaces.
    wanted : WantedForce
        At one load the force is met exactly where the outline allows it; at several the largest miss is least.
    g_m_s2 : float
        Gravity.
    limits_m : tuple of float
        Least and greatest moment arm.

    Raises
    ------
    MachineError
        The machine has no cable, or nothing rides on it.
    GeometryError
        No cam of these limits exists.
    """
    mechanism = machine.mechanism
    if not isinstance(mechanism, Cable):
        raise MachineError(
            f"a {mechanism.kind} has no cam",
            where=machine.name,
            remedy='name dimensions to move, such as --move "plates.radius=200:320"; a cam belongs to [cable]',
        )
    arms = np.full(wanted.q_rad.size, 0.1)
    bounded = False
    for _ in range(_ROUNDS):
        gain, beside = _force_parts(machine, mechanism, wanted, arms, g_m_s2)
        exact = np.sum(gain * (wanted.force_n - beside) / wanted.tolerance_n**2, axis=0) / np.sum(
            gain**2 / wanted.tolerance_n**2, axis=0
        )
        alone = wanted.loads_kg.size == 1
        bounded = not alone or not _possible(wanted.q_rad, exact, mechanism.leaving, limits_m)
        found = _nearest(wanted, gain, beside, arms, mechanism.leaving, limits_m) if bounded else exact
        change = float(np.abs(found - arms).max())
        arms = found
        if change < _SETTLED_M:
            break
    gain, beside = _force_parts(machine, mechanism, wanted, arms, g_m_s2)
    force = gain * arms + beside
    miss = float(np.max(np.abs(force - wanted.force_n) / wanted.tolerance_n))
    return CamTable(wanted.q_rad, arms, force, miss, bounded)


def with_cam(machine: Machine, q_rad: Floats, arm_m: Floats) -> Machine:
    """The machine with another cam; its own offset and mounting are taken back to nothing.

    Raises
    ------
    MachineError
        It is no cable machine.
    """
    if not isinstance(machine.mechanism, Cable):
        raise MachineError(f"a {machine.mechanism.kind} has no cam", where=machine.name)
    mechanism = machine.mechanism.with_cam(q_rad, arm_m)
    kept = {p.key: p for p in machine.parameters if p.key.dimension != "drum_radius" and p.key.part != "cam"}
    cam = [p for p in mechanism.extra_parameters() if p.key.part == "cam"]
    return dataclasses.replace(machine, mechanism=mechanism, parameters=(*kept.values(), *cam))


def cam_rows(table: CamTable, room_rad: float = ROOM_RAD) -> tuple[Floats, Floats]:
    """Rotations and moment arms of the whole cam: beyond the travel it goes on round the circle that fits its end.

    A cam is longer than its travel at both ends, so that a stop set a little off finds it there.
    """
    q, arm = table.q_rad, table.arm_m
    step = float(q[1] - q[0])
    more: Floats = step * np.arange(1.0, np.ceil(room_rad / step) + 1.0)
    before = _around(arm[:4], step, more)[::-1]
    after = _around(arm[:-5:-1], step, more)
    return np.concatenate((q[0] - more[::-1], q, q[-1] + more)), np.concatenate((before, arm, after))


def _around(ending: Floats, step: float, more: Floats) -> Floats:
    """Moment arms `more` beyond the first of four, with the radius of curvature held: arm + arm'' = radius."""
    a, b, c, d = map(float, ending)
    slope = (11.0 * a - 18.0 * b + 9.0 * c - 2.0 * d) / (6.0 * step)
    bend = (2.0 * a - 5.0 * b + 4.0 * c - d) / step**2
    radius = max(a + bend, 0.0)
    return np.asarray(radius + (a - radius) * np.cos(more) + slope * np.sin(more))


def _force_parts(
    machine: Machine, mechanism: Cable, wanted: WantedForce, arms: Floats, g: float
) -> tuple[Floats, Floats]:
    """Force per metre of moment arm, and force of what does not hang on it, each (m, n)."""
    trial = with_cam(machine, wanted.q_rad, arms)
    gain, beside = [], []
    for load in wanted.loads_kg:
        terms = trial.terms(wanted.q_rad, float(load), g)
        loss = mechanism.efficiency(machine.values)
        stack = 0.5 * (loss + 1.0 / loss) * terms.by_link["stack"].gradient
        gain.append(stack / (arms * terms.handle.travel))
        beside.append(terms.by_link["drum"].gradient / terms.handle.travel)
    if not (np.abs(gain) > 1e-6).all():
        raise MachineError(
            "nothing rides on the stack, so no cam changes the force",
            where=machine.name,
            remedy='add [[cable.mass]] with mass = "load", or serve a load above zero',
        )
    return np.array(gain), np.array(beside)


def _possible(q: Floats, arms: Floats, leaving: CableLeaving, limits_m: tuple[float, float]) -> bool:
    low, high = limits_m
    if not np.isfinite(arms).all() or (arms < low).any() or (arms > high).any():
        return False
    return bool((_curvature(q, arms, leaving) @ arms >= least_radius_m(leaving)).all())


def _curvature(q: Floats, arms: Floats, leaving: CableLeaving) -> Floats:
    """Radius of curvature at the rows as a linear function of the arms, about `arms`; shape (n, n).

    With the cable leaving in a fixed direction it is exactly that of the outline's cubic spline; with a guide pulley
    the line's turning is taken from the last round.
    """
    # Slow to import, and only a cam needs it.
    from scipy.interpolate import CubicSpline

    angle = leaving.normal_rad(arms)[0] - q
    if not np.isfinite(angle).all() or (np.diff(angle) >= 0.0).any():
        raise GeometryError(
            "the guide pulley is too near for such a cam",
            where="cable.leaving",
            remedy="set the pulley farther away, or leave it out",
        )
    eye = np.eye(q.size)
    return np.asarray(eye + CubicSpline(-angle, eye)(-angle, 2))


def _nearest(
    wanted: WantedForce,
    gain: Floats,
    beside: Floats,
    arms: Floats,
    leaving: CableLeaving,
    limits_m: tuple[float, float],
) -> Floats:
    """Arms of the least largest miss that the outline allows."""
    # Slow to import, and only a bounded cam needs it.
    from scipy.optimize import linprog

    n, eye, nothing = wanted.q_rad.size, np.eye(wanted.q_rad.size), np.zeros(wanted.q_rad.size)
    curvature = _curvature(wanted.q_rad, arms, leaving)
    least = _SPARE * max(least_radius_m(leaving), _LEAST_RADIUS_M)
    slope = gain / wanted.tolerance_n
    gap = (wanted.force_n - beside) / wanted.tolerance_n
    # Unknowns: arms, each row's miss, the largest miss. Where that is settled, the others still are to be small.
    rows = [np.column_stack((sign * np.diag(s), -eye, nothing)) for sign in (1.0, -1.0) for s in slope]
    largest = np.column_stack((np.zeros((n, n)), eye, -np.ones(n)))
    bend = np.column_stack((-curvature, np.zeros((n, n + 1))))
    found = linprog(
        np.concatenate((nothing, np.full(n, _SMALL / n), [1.0])),
        A_ub=np.concatenate((*rows, largest, bend)),
        b_ub=np.concatenate((gap.ravel(), -gap.ravel(), nothing, np.full(n, -least))),
        bounds=[limits_m] * n + [(0.0, None)] * (n + 1),
        method="highs",
    )
    if not found.success or found.x is None:
        raise GeometryError(
            f"no cam with moment arms of {limits_m[0] * 1e3:.0f} to {limits_m[1] * 1e3:.0f} mm bends the cable gently "
            "enough",
            where="cable",
            remedy="take a thinner cable, a smaller bend_ratio that its maker allows, or wider limits",
        )
    return np.asarray(found.x[:n])
