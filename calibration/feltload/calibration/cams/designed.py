"""A cam for targets: what they want along the travel, the cam that gives it, and what speaks against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.cams.checks import check_cam
from feltload.calibration.cams.outline import CamOutline, cam_outline
from feltload.calibration.cams.synthesis import CamTable, WantedForce, cam_rows, synthesise_cam, with_cam
from feltload.calibration.errors import DesignError, MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.cable import Cable
from feltload.calibration.machine.reference import reference_of
from feltload.calibration.target.placed import PlacedTarget, place_target
from feltload.calibration.target.target import Target, TargetScale
from feltload.core import STANDARD_GRAVITY_M_S2, Fact, Floats
from feltload.signal import travel_of

_STEP_RAD: Final = np.radians(2.5)
_FEWEST: Final = 13


@dataclass(frozen=True)
class CamDesign:
    """A cam for targets.

    Attributes
    ----------
    machine, proposed : Machine
        Today's, and the one with the new cam.
    wanted : WantedForce
    table : CamTable
        Over the travel.
    rows : tuple of ndarray
        The whole cam, longer than the travel at both ends: rotations and moment arms.
    today_n : ndarray, shape (m, n) or None
        Force of today's machine, where it has a drum or cam that reaches.
    placed : tuple of PlacedTarget
    outline : CamOutline
    facts : tuple of Fact
        What speaks against making it.
    travel_rad : float
    """

    machine: Machine
    proposed: Machine
    wanted: WantedForce
    table: CamTable
    rows: tuple[Floats, Floats]
    today_n: Floats | None
    placed: tuple[PlacedTarget, ...]
    outline: CamOutline
    facts: tuple[Fact, ...]
    travel_rad: float

    @property
    def meets(self) -> bool:
        """Whether it gives the wanted force within its tolerance."""
        return self.table.miss <= 1.0


def design_cam(
    machine: Machine,
    targets: Sequence[Target],
    *,
    loads_kg: Sequence[float],
    travel_rad: float,
    g_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> CamDesign:
    """Find the cam of a cable machine that meets targets.

    Parameters
    ----------
    machine : Machine
    targets : sequence of Target
        Between the positions of a target, and of one target and the next, the force goes straight; before the first and
        after the last it stays. Where only a shape is wanted, the mean force stays what it is today.
    loads_kg : sequence of float
    travel_rad : float
    g_m_s2 : float

    Raises
    ------
    MachineError, GeometryError, TargetError, DesignError
    """
    machine.require_masses(loads_kg)
    if not isinstance(machine.mechanism, Cable):
        raise MachineError(
            f"a {machine.mechanism.kind} has no cam",
            where=machine.name,
            remedy='name dimensions to move, such as --move "plates.radius=200:320"',
        )
    if travel_rad <= 0.0:
        raise DesignError("is below zero", where="--travel", remedy="a cam is laid out for the way up")
    count = max(_FEWEST, 1 + int(np.ceil(travel_rad / _STEP_RAD)))
    q = np.linspace(0.0, travel_rad, count)
    reference = reference_of(machine)
    travel = travel_of(reference, reference.start_angle_rad + q)
    today = _today(machine, q, loads_kg, g_m_s2)
    forces, tolerances, every = [], [], []
    for i, load in enumerate(loads_kg):
        for target in targets:
            if target.one_sided:
                raise DesignError(
                    "is a limit, and a cam is laid out for a force",
                    where=target.text,
                    remedy='give the force that is wanted, such as "constant 250 ± 20 N"',
                )
        placed = [place_target(t, travel, travel.angle_rad) for t in targets if t.load_kg in (None, load)]
        if not placed:
            raise DesignError(
                f"no target is for {load:.4g} kg",
                where="--load",
                remedy="leave the load out, or give it a target",
            )
        now = None if today is None else today[i]
        force, tolerance = _wanted(placed, q + reference.start_angle_rad, now)
        forces.append(force)
        tolerances.append(tolerance)
        every += placed
    wanted = WantedForce(q, np.asarray(loads_kg, dtype=float), np.array(forces), np.array(tolerances))
    table = synthesise_cam(machine, wanted, g_m_s2)
    rows = cam_rows(table)
    leaving = machine.mechanism.leaving
    outline = cam_outline(*rows, leaving)
    return CamDesign(
        machine,
        with_cam(machine, *rows),
        wanted,
        table,
        rows,
        today,
        tuple(every),
        outline,
        check_cam(outline, leaving),
        travel_rad,
    )


def _today(machine: Machine, q: Floats, loads_kg: Sequence[float], g: float) -> Floats | None:
    try:
        return np.array(machine.midway_forces_n(q, list(loads_kg), g))
    except MachineError:
        return None


def _wanted(
    placed: Sequence[PlacedTarget], angle_rad: Floats, today_n: Floats | None
) -> tuple[Floats, Floats]:
    """Force and tolerance at the rows, (n,) each, from targets one after the other."""
    at, force, tolerance = np.empty(0), np.empty(0), np.empty(0)
    for each in sorted(placed, key=lambda each: float(each.at_rad[0])):
        scale = 1.0
        if each.target.scale is not TargetScale.NEWTONS:
            begins = float(each.at_rad[each.first])
            if at.size and at.min() <= begins <= at.max():
                scale = float(np.interp(begins, at, force)) / float(each.wanted[each.first])
            elif today_n is not None:
                scale = float(np.mean(np.interp(each.at_rad, angle_rad, today_n)) / np.mean(each.wanted))
            else:
                raise DesignError(
                    "wants a shape alone, and today's machine has no force to keep",
                    where=each.target.text,
                    remedy='give a force as well, such as "250 ± 20 N at start"',
                )
        at, first = np.unique(np.concatenate((at, each.at_rad)), return_index=True)
        force = np.concatenate((force, scale * each.wanted))[first]
        tolerance = np.concatenate((tolerance, scale * each.tolerance))[first]
    return np.interp(angle_rad, at, force), np.interp(angle_rad, at, tolerance)
