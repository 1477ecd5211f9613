"""What a design runs into, as far as the machine file knows: pivots, frame, floor, and a handle that runs away.

The size of plates, bearings and bodies is in no machine file, so what is found here is a part of what can go wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from feltload.calibration.design.facts import DesignFact
from feltload.calibration.design.free import FreeDimension
from feltload.calibration.errors import DesignError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import ParameterKey
from feltload.core import Fact, Floats, Severity

HUB_M: Final = 0.03
"""Nearer to its pivot no peg for plates can be: bearing and peg are there (common practice, no source)."""
_NEAR_M: Final = 0.04
"""A hand, or a peg with its collar, needs this much on every side (common practice, no source)."""


def require_room(machine: Machine, free: Sequence[FreeDimension]) -> None:
    """Refuse bounds that put a mass through its own pivot.

    Raises
    ------
    DesignError
    """
    loads = {rider.name for rider in machine.riders if getattr(rider, "is_load", False)}
    for each in free:
        key = each.parameter.key
        if key.dimension != "radius" or not key.part:
            continue
        least = HUB_M if key.part in loads and each.parameter.value >= HUB_M else 0.0
        if each.low < min(least, each.parameter.value) - 1e-9:
            unit, per = each.parameter.unit, each.parameter.per_unit
            raise DesignError(
                f"{each.low / per:g} {unit} puts {key.part} into the pivot that it turns about",
                where=f"--move {key.dotted}",
                remedy=f"give {least / per:g} {unit} or more; the pivot's other side is another {key.part}.angle",
            )


def collisions(today: Machine, proposed: Machine, q_rad: Floats) -> tuple[Fact, ...]:
    """Where the proposed machine runs into frame or floor and today's does not."""
    known = {fact.kind for fact in _collisions(today, q_rad)}
    return tuple(fact for fact in _collisions(proposed, q_rad) if fact.kind not in known)


def runs_away(
    q_rad: Floats, loads_kg: Sequence[float], today_n: Floats, proposed_n: Floats
) -> tuple[Fact, ...]:
    """Loads with which the proposed machine would move the handle by itself and today's does not.

    Parameters
    ----------
    q_rad : ndarray, shape (n,)
    loads_kg : sequence of float, length m
    today_n, proposed_n : ndarray, shape (m, n)
        Force midway between raising and lowering.
    """
    found = []
    for load, before, after in zip(loads_kg, today_n, proposed_n, strict=True):
        away = q_rad[after <= 0.0]
        if away.size and before.min() > 0.0:
            figures = {
                "load_kg": load,
                "from_rad": float(away[0]),
                "to_rad": float(away[-1]),
                "force_n": float(after.min()),
            }
            found.append(Fact(DesignFact.RUNS_AWAY, Severity.SERIOUS, figures=figures))
    return tuple(found)


def _collisions(machine: Machine, q_rad: Floats) -> Iterator[Fact]:
    paths = dict(_paths(machine, q_rad))
    for kind, path in paths.items():
        apart = _from_frame(machine, path)
        if apart is not None and apart.min() < _NEAR_M:
            at = int(np.argmin(apart))
            figures = {"angle_rad": float(q_rad[at]), "apart_m": float(apart[at])}
            yield Fact(kind, Severity.CAUTION, figures=figures)
    floor = [value for key, value in machine.values.items() if key.part and key.dimension == "floor"]
    if floor:
        height = np.min([path[:, 1] for path in paths.values()], axis=0) - max(floor)
        if height.min() < 0.0:
            at = int(np.argmin(height))
            figures = {"angle_rad": float(q_rad[at]), "under_m": float(-height[at])}
            yield Fact(DesignFact.UNDER_FLOOR, Severity.SERIOUS, figures=figures)


def _paths(machine: Machine, q_rad: Floats) -> Iterator[tuple[DesignFact, Floats]]:
    frames = machine.mechanism.frames(q_rad, machine.values)
    handle = machine.mechanism.handle(frames, q_rad, machine.values).path
    if handle is not None:
        yield DesignFact.HANDLE_NEAR_FRAME, handle.position
    for rider in machine.riders:
        link = rider.on or machine.mechanism.links[0]
        if getattr(rider, "is_load", False) and link not in machine.mechanism.sliding:
            path = frames[link].point(*rider.anchor(machine.values))
            yield DesignFact.LOAD_NEAR_FRAME, path.position


def _from_frame(machine: Machine, path: Floats) -> Floats | None:
    """Distance of a path (n, 2) from the line between a linkage's fixed pivots; None where there is no such line."""
    ground = machine.values.get(ParameterKey("ground_length"))
    if ground is None:
        return None
    turned = machine.values[ParameterKey("ground_angle")]
    along = np.array([np.cos(turned), np.sin(turned)])
    foot = np.clip(path @ along, 0.0, ground)[:, None] * along
    return np.asarray(np.hypot(*(path - foot).T))
