"""Positions that several results have in common: what counts as the same one, and curves moved to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from feltload.app.errors import UsageError
from feltload.core import Floats
from feltload.signal import AngleKind, ProfileEstimate, Travel

By = Literal["handle", "travel", "angle"]


def one_machine(estimates: Sequence[ProfileEstimate]) -> bool:
    """Whether all are of one machine by name, with positions of one kind."""
    return len({(each.machine_name, each.scale.angle) for each in estimates}) == 1


def usual_positions(estimates: Sequence[ProfileEstimate]) -> By:
    """What counts as the same position unless somebody says."""
    if not one_machine(estimates):
        return "travel"
    if all(estimate.handle_path_m is not None for estimate in estimates):
        return "handle"
    return "angle" if estimates[0].scale.angle is AngleKind.LEVER else "travel"


def require_positions(estimates: Mapping[str, ProfileEstimate], by: By) -> None:
    """Refuse positions that one of the results does not have.

    Raises
    ------
    UsageError
        Names it.
    """
    for name, estimate in estimates.items():
        if by == "handle" and estimate.handle_path_m is None:
            raise UsageError(
                f"the handle's way is not known of {name}",
                where="--by handle",
                remedy="use --by travel",
            )
        if by == "angle" and estimate.scale.angle is not AngleKind.LEVER:
            raise UsageError(
                f"{name} has no lever angle: its sensor turns with the {estimate.scale.part or 'machine'}",
                where="--by angle",
                remedy="use --by travel (part of the travel) or --by handle (way of the handle)",
            )


def on_travel_of(first: ProfileEstimate, other: ProfileEstimate, by: By) -> ProfileEstimate:
    """The other's curve moved to where the same part, or the same way of the handle, of the first's travel lies."""
    if by == "handle" and other.handle_path_m is not None:
        moved = [first.travel.at_way(float(way)) for way in other.handle_path_m]
    else:
        moved = [first.travel.at_share(float(share)) for share in other.travel.shares(other.angle_rad)]
    return replace(other, angle_rad=np.array(moved))


def with_place_u(estimate: ProfileEstimate) -> ProfileEstimate:
    """The profile with what the handle's uncertain way adds to its band, where dimensions are not shared."""
    way, u_way = estimate.handle_path_m, estimate.scale.u_path_m
    if way is None or u_way is None:
        return estimate
    added = np.nan_to_num(np.gradient(estimate.static_n, way, axis=1) * u_way).ravel()
    before = np.sqrt(np.maximum(np.diag(estimate.covariance_n2), 1e-300))
    covariance = estimate.covariance_n2 + np.outer(added, added)
    wider = (np.sqrt(np.diag(covariance)) / before).reshape(estimate.static_n.shape)
    return replace(estimate, covariance_n2=covariance, static_u95_n=estimate.static_u95_n * wider)


def places(angle_rad: Floats, travel: Travel, by: By | None) -> dict[str, list[float]]:
    """Positions for programs: those that two results share, all of `travel` where that is any."""
    columns = {name: np.round(values, 6).tolist() for name, values in travel.columns(angle_rad).items()}
    shared = {"handle": "handle_travel_mm", "travel": "travel_percent", "angle": "angle_deg"}
    return columns if by is None else {shared[by]: columns[shared[by]]}
