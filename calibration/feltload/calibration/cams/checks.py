"""Whether a cable lies on a cam as its outline says, and whether it may be bent so."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from feltload.calibration.cams.facts import CamFact
from feltload.calibration.cams.outline import CamOutline
from feltload.calibration.machine.mechanisms.leaving import CableLeaving, GuidePulley
from feltload.core import Fact, Severity

ROOM_RAD: Final = math.radians(5.0)
"""The cable has to be fastened somewhere on the cam before it leaves first."""
_NEARLY: Final = 0.99
_TOUCH_M: Final = 5e-5


def check_cam(outline: CamOutline, leaving: CableLeaving) -> tuple[Fact, ...]:
    """What speaks against making this cam; empty when nothing does.

    Parameters
    ----------
    outline : CamOutline
        As `cam_outline` gives it.
    leaving : CableLeaving
        How the cable leaves, how thick it is, and how far it may be bent.
    """
    lost = ~np.isfinite(outline.radius_m)
    if lost.any():
        return (_no_line(outline, leaving, int(np.flatnonzero(lost)[0])),)
    facts = [*_bend(outline, leaving)]
    if outline.turn_rad > 2.0 * math.pi - ROOM_RAD:
        facts.append(Fact(CamFact.TURNS_OVER, Severity.SERIOUS, figures={"turn_rad": outline.turn_rad}))
    elif not any(fact.kind == CamFact.HOLLOW for fact in facts):
        facts += _beyond(outline)
    if leaving.pulley is not None:
        facts += _near(outline, leaving.pulley)
    return tuple(facts)


def _no_line(outline: CamOutline, leaving: CableLeaving, at: int) -> Fact:
    arm, q = float(outline.arm_m[at]), float(outline.q_rad[at])
    out_of_reach = not np.isfinite(leaving.normal_rad(np.array([arm]))[0][0])
    if out_of_reach:
        figures = {"angle_rad": q, "arm_m": arm}
        return Fact(CamFact.PULLEY_NEAR, Severity.SERIOUS, figures=figures)
    return Fact(CamFact.UNWINDS, Severity.SERIOUS, figures={"angle_rad": q})


def _bend(outline: CamOutline, leaving: CableLeaving) -> list[Fact]:
    """Hollow places, or a bend sharper than the cable bears."""
    hollow = outline.radius_m <= 0.0
    if hollow.any():
        where = outline.q_rad[hollow]
        figures = {"from_rad": float(where[0]), "to_rad": float(where[-1])}
        return [Fact(CamFact.HOLLOW, Severity.SERIOUS, figures=figures)]
    at = int(np.argmin(outline.radius_m))
    found = {"radius_m": float(outline.radius_m[at]), "angle_rad": float(outline.q_rad[at])}
    if leaving.diameter is None:
        return [Fact(CamFact.BEND_UNCHECKED, Severity.NOTE, figures=found)]
    least = least_radius_m(leaving)
    if found["radius_m"] >= _NEARLY * least:
        return []
    given = {"least_m": least, "diameter_m": leaving.diameter, "bend_ratio": leaving.bend_ratio}
    return [Fact(CamFact.SHARP, Severity.CAUTION, figures={**found, **given})]


def least_radius_m(leaving: CableLeaving) -> float:
    """Least radius of bend that the cable bears, to its middle; 0 where its thickness is not known."""
    return 0.5 * leaving.bend_ratio * (leaving.diameter or 0.0)


def _beyond(outline: CamOutline) -> list[Fact]:
    """The first rotation at which the free cable meets the cam again."""
    shape = np.concatenate((outline.surface_m, outline.closing_m))
    step = max(1, outline.q_rad.size // 180)
    for at in range(0, outline.q_rad.size, step):
        psi = outline.psi_rad[at]
        normal = np.array([math.cos(psi), math.sin(psi)])
        along = np.array([normal[1], -normal[0]])
        inside = float(outline.surface_m[at] @ normal)
        ahead = (shape - outline.surface_m[at]) @ along
        out = shape @ normal - inside
        if ((ahead > _TOUCH_M) & (out > _TOUCH_M)).any():
            return [Fact(CamFact.FOULS, Severity.SERIOUS, figures={"angle_rad": float(outline.q_rad[at])})]
    return []


def _near(outline: CamOutline, pulley: GuidePulley) -> list[Fact]:
    """A guide pulley that the cable would reach before it leaves the cam, or that the cam would run into."""
    angle = outline.psi_rad + outline.q_rad
    reach = pulley.x * np.sin(angle) - pulley.y * np.cos(angle)
    shape = np.concatenate((outline.surface_m, outline.closing_m))
    for at in range(0, outline.q_rad.size, max(1, outline.q_rad.size // 180)):
        q = outline.q_rad[at]
        # The axle as the turned cam sees it.
        axle = np.array([[math.cos(q), math.sin(q)], [-math.sin(q), math.cos(q)]]) @ (pulley.x, pulley.y)
        apart = float(np.hypot(*(shape - axle).T).min())
        if reach[at] <= outline.ahead_m[at] or apart <= pulley.radius:
            figures = {"angle_rad": float(q), "arm_m": float(outline.arm_m[at])}
            return [Fact(CamFact.PULLEY_NEAR, Severity.SERIOUS, figures=figures)]
    return []
