"""The energy of a whole machine by virtual work, and the handle force that follows from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.mechanism import Frame, Handle, Mechanism, Rider, Share, Values
from feltload.core import Floats

# A handle that moves less than this per radian is at a dead point: no force can be determined there.
_DEAD_POINT_M: float = 1e-4


@dataclass(frozen=True)
class WorkTerms:
    """Energy of a machine along q; each array (n,).

    Attributes
    ----------
    energy, gradient : ndarray
        U (J) and dU/dq (N·m).
    inertia, inertia_1 : ndarray
        I (kg·m²) and dI/dq.
    handle : Handle
        The hand's travel.
    by_link : dict
        The same, per link.
    """

    energy: Floats
    gradient: Floats
    inertia: Floats
    inertia_1: Floats
    handle: Handle
    by_link: dict[str, Share]


@dataclass(frozen=True)
class Pose:
    """Where a machine's links are at rotations from the start stop, and how its handle travels there."""

    q_rad: Floats
    frames: Mapping[str, Frame]
    handle: Handle


def pose_of(mechanism: Mechanism, values: Values, q_rad: Floats) -> Pose:
    """Assemble a machine at rotations `q_rad` (n,).

    Raises
    ------
    GeometryError
        The lengths do not fit together, or the handle stands still somewhere.
    """
    frames = mechanism.frames(q_rad, values)
    handle = mechanism.handle(frames, q_rad, values)
    stuck = np.abs(handle.travel) < _DEAD_POINT_M
    if stuck.any():
        where = float(np.degrees(q_rad[np.nonzero(stuck)[-1][0]]))
        raise GeometryError(
            f"the handle does not move along its line of pull {where:.1f}° from the start stop",
            where=mechanism.kind,
            remedy="check the line of pull and the handle's radius",
        )
    return Pose(q_rad, frames, handle)


def work_terms(
    mechanism: Mechanism, riders: Sequence[Rider], values: Values, pose: Pose, load_kg: float, g: float
) -> WorkTerms:
    """Sum the energy of everything that rides on the mechanism.

    Parameters
    ----------
    mechanism : Mechanism
        Where the links are.
    riders : sequence of Rider
        Masses and add-ons.
    values : mapping
        Dimensions by name, SI.
    pose : Pose
        Of the same dimensions.
    load_kg : float
        Mass loaded.
    g : float
        Gravity, m/s².
    """
    nothing = np.zeros_like(pose.q_rad)
    by_link = {link: Share(nothing, nothing, nothing, nothing) for link in mechanism.links}
    gravity = g * mechanism.tilt(values)
    for rider in riders:
        link = rider.on or mechanism.links[0]
        by_link[link] = by_link[link] + rider.share(pose.frames[link], values, load_kg, gravity)
    total = Share(nothing, nothing, nothing, nothing)
    for share in by_link.values():
        total = total + share
    return WorkTerms(total.energy, total.gradient, total.inertia, total.inertia_1, pose.handle, by_link)
