"""What positions are on a machine, as its description has them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from feltload.core import Fact, Floats
from feltload.signal.movement.positions import PositionScale, Travel
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.session import Reference


def travel_of(reference: Reference, angle_rad: Floats, *, u_angle_rad: float = 0.0) -> Travel:
    """The travel over `angle_rad` (n,), start angle plus rotation, of the machine that `reference` is of.

    Parameters
    ----------
    reference : Reference
    angle_rad : ndarray, shape (n,)
        Ascending.
    u_angle_rad : float
        Standard uncertainty of the rotation, which the handle's way is uncertain by beside the machine's dimensions.
    """
    q, handle = angle_rad - reference.start_angle_rad, reference.handle_travel
    path = None if handle is None else handle.path_m(q)
    scale = PositionScale(angle=reference.angle, part=reference.turning_part)
    if handle is None or path is None:
        return Travel(angle_rad, None, scale, reference.start_angle_rad)
    turned = u_angle_rad * np.gradient(path, q)
    scale = replace(
        scale,
        u_path_m=np.hypot(handle.u_path_m(q), turned),
        line_rad=handle.line_at(q),
    )
    return Travel(angle_rad, path, scale, reference.start_angle_rad)


def whole_travel(reference: Reference) -> Travel:
    """As much of a machine's travel as its description gives: parts of it mean nothing, ways and angles do."""
    handle = reference.handle_travel
    q = np.array([0.0, 1.0]) if handle is None or reference.handle_radius_m is not None else handle.q_rad
    return travel_of(reference, reference.start_angle_rad + q)


def with_positions(estimate: ProfileEstimate, reference: Reference) -> ProfileEstimate:
    """The profile with positions as `reference` has them: results of older formats say angles alone."""
    travel = travel_of(reference, estimate.angle_rad, u_angle_rad=estimate.angle_rms_u_rad)
    return replace(estimate, handle_path_m=travel.path_m, scale=travel.scale)


def placed(facts: Iterable[Fact], travel: Travel) -> tuple[Fact, ...]:
    """Facts about stretches (`low_rad` to `high_rad`), both ends also as parts of the travel and the handle's way."""
    return tuple(_placed(fact, travel) for fact in facts)


def _placed(fact: Fact, travel: Travel) -> Fact:
    ends = {end: fact.figures.get(f"{end}_rad") for end in ("low", "high")}
    if any(value is None or isinstance(value, str) for value in ends.values()):
        return fact
    added = {}
    for end, value in ends.items():
        shares = travel.shares(np.atleast_1d(np.asarray(value, float)))
        several = isinstance(value, tuple)
        added[f"{end}_share"] = tuple(map(float, shares)) if several else float(shares[0])
        ways = travel.ways_m(np.atleast_1d(np.asarray(value, float)))
        if ways is not None:
            added[f"{end}_path_m"] = tuple(map(float, ways)) if several else float(ways[0])
    return replace(fact, figures={**fact.figures, **added, "angle": str(travel.scale.angle)})
