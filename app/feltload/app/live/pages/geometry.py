"""A machine's side view as numbers that the browser draws: every moving line at positions through the travel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from feltload.calibration import GeometryError, Machine

POSES = 37
TRAVELS_DEG = (110.0, 90.0, 70.0, 50.0, 30.0, 15.0)
"""Tried in turn until the machine can do it: how far it really goes is not known before it moved."""
_MILLIMETRES = 3


def machine_geometry(machine: Machine) -> dict[str, Any] | None:
    """The side view in metres, x to the right and y up; None for a machine that cannot be assembled.

    Returns
    -------
    dict
        ``q_rad`` (n,); ``moving``: lines, each ``{"at": [[x, y, x, y ...] per position], "radius"}``; ``fixed``: the
        same with one position; ``handle`` and ``load``: ``[[x, y] per position]`` or None; ``pivots``: ``[[x, y]]``.
    """
    for travel_deg in TRAVELS_DEG:
        try:
            return _geometry(machine, np.linspace(0.0, math.radians(travel_deg), POSES))
        except GeometryError:
            continue
    return None


def _geometry(machine: Machine, q: np.ndarray) -> dict[str, Any]:
    mechanism, values = machine.mechanism, machine.values
    machine.terms(q, 0.0)
    frames = mechanism.frames(q, values)
    handle = mechanism.handle(frames, q, values).path
    poses = [mechanism.outline(float(position), values) for position in q]
    lines = [(index, stroke) for index, stroke in enumerate(poses[0])]
    loads = [
        frames[rider.on or mechanism.links[0]].point(*rider.anchor(values)).position
        for rider in machine.riders
        if getattr(rider, "is_load", False)
    ]
    pivots = [
        frame.origin.position[0]
        for name, frame in frames.items()
        if name not in mechanism.sliding and np.ptp(frame.origin.position, axis=0).max() < 1e-12
    ]
    return {
        "q_rad": _rounded(q, 5),
        "moving": [
            {"at": [_rounded(pose[index].points) for pose in poses], "radius": stroke.radius}
            for index, stroke in lines
            if stroke.moving
        ],
        "fixed": [
            {"at": [_rounded(stroke.points)], "radius": stroke.radius}
            for _, stroke in lines
            if not stroke.moving
        ],
        "handle": None if handle is None else handle.position.round(_MILLIMETRES).tolist(),
        "load": loads[0].round(_MILLIMETRES).tolist() if loads else None,
        "pivots": [pivot.round(_MILLIMETRES).tolist() for pivot in pivots],
    }


def _rounded(values: np.ndarray, places: int = _MILLIMETRES) -> Sequence[float]:
    return [round(float(value), places) for value in np.ravel(values)]
