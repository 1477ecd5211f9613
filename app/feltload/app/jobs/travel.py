"""Where a client works, as the JSON of every command has it."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.coaching import WorkingTravel
from feltload.signal import Travel

Span = tuple[float, float]


def travel_record(working: WorkingTravel, along: Travel) -> dict[str, object]:
    """Positions of what is computed over, what hurts, where to start and turn, and what is not known."""

    def place(at_rad: float | None) -> object:
        return None if at_rad is None else along.record(at_rad)

    return {
        "work": span_record(working.work_rad, along),
        "painful": span_records(working.painful_rad, along),
        "start_at": place(working.begin_rad),
        "turn_at": place(working.turn_rad),
        "not_measured": span_records(working.unknown_rad, along),
    }


def span_record(span_rad: Span, along: Travel) -> dict[str, object]:
    """A range: its ends, `from` and `to`, each a position."""
    return {"from": along.record(span_rad[0]), "to": along.record(span_rad[1])}


def span_records(spans_rad: Sequence[Span], along: Travel) -> list[dict[str, object]]:
    """Ranges, each as `span_record`."""
    return [span_record(span_rad, along) for span_rad in spans_rad]
