"""The content of `profile.json`."""

from __future__ import annotations

from typing import Any

import numpy as np

from feltload.core import NORMAL_COVERAGE_95
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.findings import describe_shape, friction_parts, mean_friction_n, tight_spots
from feltload.signal.profile.uncertainty.budget_item import BudgetItem, budget_shares

FORMAT = 4
"""Of the files; older ones are still read (see `older_formats`)."""


def profile_summary(estimate: ProfileEstimate) -> dict[str, Any]:
    """The content of `profile.json` as plain values; lists by load when there are several."""
    shapes = [describe_shape(estimate, k) for k in range(estimate.loads_kg.size)]
    several = estimate.loads_kg.size > 1

    def by_load(values: list[Any]) -> Any:
        return values if several else values[0]

    inertia = [float(np.nanmedian(row)) for row in estimate.inertia_by_load_n_per_rad_s2]
    return {
        "format": FORMAT,
        "machine": estimate.machine_name,
        "load_kg": by_load([float(v) for v in estimate.loads_kg]),
        "repetitions": [
            {
                "start_s": r.start_s,
                "range_deg": float(np.degrees(r.range_rad)),
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
        "lag_s": estimate.lag.value_s,
        "lag_u95_s": NORMAL_COVERAGE_95 * estimate.lag.u_s,
        "inertia_n_per_rad_s2": by_load(inertia),
        "viscous_n_per_rad_s": estimate.viscous_n_per_rad_s,
        "friction": by_load([_friction(estimate, k) for k in range(estimate.loads_kg.size)]),
        "friction_by_load": _friction_by_load(estimate),
        "angle_rms_u_deg": float(np.degrees(estimate.angle_rms_u_rad)),
        "peak": by_load(
            [{"angle_deg": float(np.degrees(s.peak_angle_rad)), "force_n": s.peak_n} for s in shapes]
        ),
        "drop_off_percent": by_load([s.drop_off_percent for s in shapes]),
        "shape": by_load([s.shape for s in shapes]),
        "budget": [
            {**budget_record(item), "u_n": item.u_n, "share": share}
            for item, share in zip(estimate.budget, budget_shares(estimate.budget), strict=True)
        ],
        "health": estimate.health.to_dict(),
        "warnings": [fact.to_dict() for fact in estimate.warnings],
    }


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


def _friction(estimate: ProfileEstimate, load_index: int) -> dict[str, Any]:
    """Mean friction of one load, and where it stands out."""
    mean_n, u95_n = mean_friction_n(estimate, load_index)
    return {
        "mean_n": mean_n,
        "mean_u95_n": u95_n,
        "tight_spots": [
            {
                "angle_deg": float(np.degrees(spot.angle_rad)),
                "from_deg": float(np.degrees(spot.low_rad)),
                "to_deg": float(np.degrees(spot.high_rad)),
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
