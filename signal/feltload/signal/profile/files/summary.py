"""The content of `profile.json`."""

from __future__ import annotations

from typing import Any

import numpy as np

from feltload.core import NORMAL_COVERAGE_95
from feltload.signal.movement.positions import Travel
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.findings import describe_shape, friction_parts, mean_friction_n, tight_spots
from feltload.signal.profile.repetitions import Repetition
from feltload.signal.profile.uncertainty.budget_item import BudgetItem, budget_shares

FORMAT = 4
"""Of the files; older ones are still read (see `older_formats`)."""


def profile_summary(estimate: ProfileEstimate) -> dict[str, Any]:
    """The content of `profile.json` as plain values; by load when there are several, None for the unknown."""
    shapes = [describe_shape(estimate, k) for k in range(estimate.loads_kg.size)]
    several = estimate.loads_kg.size > 1

    def by_load(values: list[Any]) -> Any:
        return values if several else values[0]

    inertia = [
        float(np.nanmedian(row)) if estimate.knows_motion else None
        for row in estimate.inertia_by_load_n_per_rad_s2
    ]
    lag = estimate.lag
    summary = {
        "format": FORMAT,
        "method": estimate.method,
        "machine": estimate.machine_name,
        "positions": _positions_record(estimate.travel),
        "load_kg": by_load([float(v) for v in estimate.loads_kg]),
        "repetitions": [
            {
                "start_s": r.start_s,
                "range_deg": float(np.degrees(r.range_rad)),
                **_range_record(r, estimate),
                "concentric_s": r.concentric_s,
                "eccentric_s": r.eccentric_s,
                "peak_n": r.peak_n,
                "work_j": r.work_j,
                "session": r.session,
                "load_kg": r.load_kg,
                "complete": r.complete,
            }
            for r in estimate.repetitions
        ],
        "lag_s": None if lag is None else lag.value_s,
        "lag_u95_s": None if lag is None else NORMAL_COVERAGE_95 * lag.u_s,
        "inertia_n_per_rad_s2": by_load(inertia),
        "viscous_n_per_rad_s": estimate.viscous_n_per_rad_s if estimate.moved else None,
        "friction": by_load([_friction(estimate, k) for k in range(estimate.loads_kg.size)]),
        "friction_by_load": _friction_by_load(estimate),
        "angle_rms_u_deg": float(np.degrees(estimate.angle_rms_u_rad)),
        "peak": by_load([{**estimate.travel.record(s.peak_angle_rad), "force_n": s.peak_n} for s in shapes]),
        "drop_off_percent": by_load([s.drop_off_percent for s in shapes]),
        "shape": by_load([s.shape for s in shapes]),
        "budget": [
            {**budget_record(item), "u_n": item.u_n, "share": share}
            for item, share in zip(estimate.budget, budget_shares(estimate.budget), strict=True)
        ],
        "health": estimate.health.to_dict(),
        "warnings": [fact.to_dict() for fact in estimate.warnings],
    }
    return {key: _plain(value) for key, value in summary.items()}


def _friction_by_load(estimate: ProfileEstimate) -> dict[str, Any]:
    """Both parts of the friction; null where the loads do not tell them apart."""
    parts = friction_parts(estimate)
    return {
        "parted": parts.parted,
        "steady_n": parts.steady_n,
        "steady_u95_n": parts.steady_u95_n,
        "per_kg_n": parts.per_kg_n,
        "per_kg_u95_n": parts.per_kg_u95_n,
    }


def _positions_record(travel: Travel) -> dict[str, Any]:
    """What positions of this result are, for programs."""
    scale, length_m = travel.scale, travel.length_m
    return {
        "angle_is": str(scale.angle),
        "sensor_turns_with": scale.part,
        "handle_travel_mm": None if length_m is None else 1e3 * length_m,
        "handle_travel_u95_mm": (
            None if scale.u_path_m is None else 1e3 * NORMAL_COVERAGE_95 * float(scale.u_path_m[-1])
        ),
        "first_from_start_stop_mm": None if travel.path_m is None else 1e3 * float(travel.path_m[0]),
    }


def _range_record(repetition: Repetition, estimate: ProfileEstimate) -> dict[str, float]:
    """How far the handle went in a repetition, where that is known."""
    start = estimate.start_angle_rad
    ways = estimate.travel.ways_m([start + repetition.low_rad, start + repetition.high_rad])
    return {} if ways is None else {"range_mm": float(1e3 * (ways[1] - ways[0]))}


def _friction(estimate: ProfileEstimate, load_index: int) -> dict[str, Any]:
    """Mean friction of one load, and where it stands out."""
    mean_n, u95_n = mean_friction_n(estimate, load_index)
    return {
        "mean_n": mean_n,
        "mean_u95_n": u95_n,
        "tight_spots": [
            {
                **estimate.travel.record(spot.angle_rad),
                "from": estimate.travel.record(spot.low_rad),
                "to": estimate.travel.record(spot.high_rad),
                "friction_n": spot.friction_n,
                "friction_u95_n": spot.friction_u95_n,
                "rest_n": spot.rest_n,
                "excess_n": spot.excess_n,
                "excess_u95_n": spot.excess_u95_n,
            }
            for spot in tight_spots(estimate, load_index)
        ],
    }


def budget_record(item: BudgetItem) -> dict[str, Any]:
    """One source of uncertainty as plain values, without its curve."""
    return {
        "source": item.source,
        "session": item.session,
        "basis": item.basis,
        "stated": item.stated,
        "figures": dict(item.figures),
    }


def _plain(value: Any) -> Any:
    """JSON has no NaN: an unknown value becomes null."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not np.isfinite(value):
        return None
    return value
