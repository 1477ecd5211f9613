"""Where a client works, as the JSON of every command has it."""

from __future__ import annotations

import numpy as np

from feltload.coaching import WorkingTravel


def travel_record(travel: WorkingTravel) -> dict[str, object]:
    """Plain values in degrees: what is computed over, what hurts, where to start and turn, what is not known."""

    def degrees(value: object) -> object:
        return None if value is None else np.rad2deg(value).round(6).tolist()  # type: ignore[call-overload]

    return {
        "work_deg": degrees(travel.work_rad),
        "painful_deg": degrees(travel.painful_rad),
        "start_at_deg": degrees(travel.begin_rad),
        "turn_at_deg": degrees(travel.turn_rad),
        "not_measured_deg": degrees(travel.unknown_rad),
    }
