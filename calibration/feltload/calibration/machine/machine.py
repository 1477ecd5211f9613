"""A surveyed machine and the forces that its geometry predicts."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.hints import nearest
from feltload.calibration.machine.mechanism import Handle, Mechanism, Rider, Values
from feltload.calibration.machine.parameters import START_ANGLE, Parameter, ParameterKey
from feltload.calibration.machine.virtual_work import WorkTerms, pose_of, work_terms
from feltload.core import STANDARD_GRAVITY_M_S2, Floats, Quantity

_HALVES: Final[tuple[Callable[[Floats], Floats], ...]] = (
    lambda values: values[: values.size // 2],
    lambda values: values[values.size // 2 :],
)
"""Machines are parted until those that cannot be assembled stand alone."""


@dataclass(frozen=True)
class Machine:
    """A surveyed machine.

    Attributes
    ----------
    name : str
        What its owner calls it.
    start_angle : Quantity
        Elevation of the handle line on the start stop.
    mechanism : Mechanism
        Its kinematics.
    riders : tuple of Rider
        Masses, then add-ons.
    parameters : tuple of Parameter
        Every surveyed dimension, start angle first; SI values with standard uncertainties.
    """

    name: str
    start_angle: Quantity
    mechanism: Mechanism
    riders: tuple[Rider, ...]
    parameters: tuple[Parameter, ...]

    @functools.cached_property
    def values(self) -> Values:
        """Every dimension, SI."""
        return {p.key: p.value for p in self.parameters}

    def parameter(self, key: ParameterKey) -> Parameter:
        """One dimension.

        Raises
        ------
        MachineError
            There is no such dimension.
        """
        for parameter in self.parameters:
            if parameter.key == key:
                return parameter
        raise MachineError(
            f'no dimension "{key.dotted}"',
            where=self.name,
            remedy=nearest(key.dotted, [p.key.dotted for p in self.parameters]),
        )

    def require_masses(self, loads_kg: Sequence[float]) -> None:
        """Refuse to predict forces from a file that says nothing about what is lifted.

        A profile needs only the start angle and where the handle is; a prediction needs the masses.

        Raises
        ------
        MachineError
            No part has a mass, or none carries the load although one was loaded.
        """
        first = f"[[{self.mechanism.kind}.mass]]"
        if not self.riders:
            raise MachineError(
                "no mass is given, so no force can be predicted",
                where=self.name,
                remedy=f"add {first} with its mass and place to the machine file",
            )
        carries = any(getattr(rider, "is_load", False) for rider in self.riders)
        if not carries and any(load > 0.0 for load in loads_kg):
            raise MachineError(
                f"{max(loads_kg):.3g} kg is loaded, and the machine file does not say where",
                where=self.name,
                remedy=f'add {first} with mass = "load" and the place of the plates',
            )

    def with_parameters(self, values: Values) -> Machine:
        """The same machine with some dimensions (SI) changed; uncertainties stay."""
        for key in values:
            self.parameter(key)
        changed = tuple(dataclasses.replace(p, value=values.get(p.key, p.value)) for p in self.parameters)
        start = dataclasses.replace(self.start_angle, value=values.get(START_ANGLE, self.start_angle.value))
        return dataclasses.replace(self, parameters=changed, start_angle=start)

    def terms(self, q_rad: Floats, load_kg: float, g_m_s2: float = STANDARD_GRAVITY_M_S2) -> WorkTerms:
        """Energy, inertia and handle travel at rotations `q_rad` (n,) from the start stop."""
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        pose = pose_of(self.mechanism, self.values, q)
        return work_terms(self.mechanism, self.riders, self.values, pose, load_kg, g_m_s2)

    def handle(self, q_rad: Floats, *, changed: Values | None = None) -> Handle:
        """How the hand moves at rotations `q_rad` (n,); `changed` dimensions (SI) stand in for the surveyed ones."""
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        values = {**self.values, **changed} if changed else self.values
        return self.mechanism.handle(self.mechanism.frames(q, values), q, values)

    def static_force_n(self, q_rad: Floats, load_kg: float, g_m_s2: float = STANDARD_GRAVITY_M_S2) -> Floats:
        """Handle force at rest without friction, dU/dq / R, shape (n,)."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        return terms.gradient / terms.handle.travel

    def slow_force_n(
        self, q_rad: Floats, load_kg: float, direction: int, g_m_s2: float = STANDARD_GRAVITY_M_S2
    ) -> Floats:
        """Handle force of slow raising (+1) or lowering (-1), with the losses that the machine file states."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        work = self.mechanism.slow_work(direction, terms.by_link, self.values, g_m_s2)
        return work / terms.handle.travel

    def midway_force_n(
        self,
        q_rad: Floats,
        load_kg: float,
        g_m_s2: float = STANDARD_GRAVITY_M_S2,
        *,
        changed: Values | None = None,
    ) -> Floats:
        """Midway between slow raising and lowering: what a measured static profile is.

        `changed` dimensions (SI) stand in for the surveyed ones without making a new machine.
        """
        return self.midway_forces_n(q_rad, [load_kg], g_m_s2, changed=changed)[0]

    def midway_forces_n(
        self,
        q_rad: Floats,
        loads_kg: Sequence[float],
        g_m_s2: float = STANDARD_GRAVITY_M_S2,
        *,
        changed: Values | None = None,
    ) -> list[Floats]:
        """`midway_force_n` at several loads, for which the machine is assembled once."""
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        values = {**self.values, **changed} if changed else self.values
        pose = pose_of(self.mechanism, values, q)
        forces = []
        for load in loads_kg:
            terms = work_terms(self.mechanism, self.riders, values, pose, load, g_m_s2)
            both = [self.mechanism.slow_work(d, terms.by_link, values, g_m_s2) for d in (1, -1)]
            forces.append(0.5 * (both[0] + both[1]) / pose.handle.travel)
        return forces

    def midway_forces_of_many_n(
        self,
        q_rad: Floats,
        loads_kg: Sequence[float],
        g_m_s2: float,
        changed: Mapping[ParameterKey, Floats],
    ) -> Floats:
        """`midway_forces_n` of many machines at once.

        Parameters
        ----------
        q_rad : ndarray, shape (n,)
        loads_kg : sequence of float, length l
        g_m_s2 : float
        changed : mapping
            Dimensions (SI) that differ, with one value for each machine, (m,).

        Returns
        -------
        ndarray, shape (m, l, n)
            Newtons; NaN where a machine cannot be assembled.
        """
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        count = max(values.size for values in changed.values())
        if count == 1 or self.mechanism.at_once:
            columns = {
                key: values[:, None] if count > 1 else float(values[0]) for key, values in changed.items()
            }
            try:
                # Mechanisms take columns where they take numbers.
                forces = self.midway_forces_n(q, loads_kg, g_m_s2, changed=cast(Values, columns))
            except GeometryError:
                if count == 1:
                    return np.full((1, len(loads_kg), q.size), np.nan)
            else:
                return np.stack([np.broadcast_to(force, (count, q.size)) for force in forces], axis=1)
        halves = [{key: part(values) for key, values in changed.items()} for part in _HALVES]
        return np.concatenate([self.midway_forces_of_many_n(q, loads_kg, g_m_s2, half) for half in halves])

    def force_n(
        self,
        q_rad: Floats,
        rate_rad_s: Floats,
        accel_rad_s2: Floats,
        load_kg: float,
        g_m_s2: float = STANDARD_GRAVITY_M_S2,
    ) -> Floats:
        """Handle force in motion without friction, shape (n,)."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        moment = terms.gradient + terms.inertia * accel_rad_s2 + 0.5 * terms.inertia_1 * np.square(rate_rad_s)
        return np.asarray(moment / terms.handle.travel)

    def felt_inertia_n_per_rad_s2(self, q_rad: Floats, load_kg: float) -> Floats:
        """Handle force per angular acceleration, I / R, shape (n,)."""
        terms = self.terms(q_rad, load_kg)
        return terms.inertia / terms.handle.travel
