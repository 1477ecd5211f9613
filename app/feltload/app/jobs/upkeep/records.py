"""A machine's state for programs."""

from __future__ import annotations

from feltload.app.jobs.comparing.common_positions import places
from feltload.app.jobs.comparing.records import difference_record
from feltload.app.jobs.upkeep.health import ArmHealth, MachineHealth, Since
from feltload.coaching import CurveDifference


def health_record(health: MachineHealth) -> dict[str, object]:
    """Figures, changes, trends and left against right."""
    return {
        "machine": health.machine,
        "arms": [_arm(arm) for arm in health.arms],
        "left_minus_right": [
            {"load_kg": load_kg, **_difference(difference, health.arms[0])}
            for load_kg, difference in health.sides
        ],
        "log_cut": bool(health.log.cut),
    }


def _arm(arm: ArmHealth) -> dict[str, object]:
    entry = arm.entry
    return {
        "side": entry.side,
        "measured": entry.measured,
        "values": [value.model_dump(mode="json") for value in entry.values],
        "since": [_since(since, arm) for since in arm.since],
        "trends": [
            {
                "kind": trend.value.kind,
                "load_kg": trend.value.load_kg,
                "per_month": trend.per_month,
                "u95": trend.u95,
                "measurements": trend.count,
                "days": trend.days,
                "changed": trend.established,
            }
            for trend in arm.trends
        ],
    }


def _since(since: Since, arm: ArmHealth) -> dict[str, object]:
    return {
        "measured": since.entry.measured,
        "changes": [
            {
                "kind": change.now.kind,
                "load_kg": change.now.load_kg,
                "difference": change.difference,
                "u95": change.u95,
                "changed": change.established,
                "by_position": None if change.curve is None else _difference(change.curve, arm),
            }
            for change in since.changes
            if change.before is not None
        ],
    }


def _difference(difference: CurveDifference, arm: ArmHealth) -> dict[str, object]:
    at = places(difference.angle_rad + arm.estimate.start_angle_rad, arm.estimate.travel, None)
    return {**at, **difference_record(difference, at), "mean_differs": difference.mean_established}
