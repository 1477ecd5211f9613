"""What can be found about the clocks of a stream."""

from __future__ import annotations

from enum import StrEnum


class ClockFact(StrEnum):
    """Kinds of facts about joining a sensor's clock to the host's."""

    STAMPS_STEP_BACK = "clock-stamps-step-back"
    """Common time stamps do not ascend."""

    TOO_FEW_SAMPLES = "clock-too-few-samples"
    """Too few to join the clocks: arrivals are used as they are."""

    STRAY_STAMPS = "clock-stray-stamps"
    """Damaged stamps replaced from their neighbours: `count`."""

    STAMPED_LATE = "clock-stamped-late"
    """The device stamped `count` samples late or coarsely: they were put back on the pace of their neighbours."""

    RESTARTED = "clock-restarted"
    """The counter restarted or jumped `count` times, first and last at the ends of the span: `counter` says which
    ("device", "sequence", "count")."""

    TIMES_UNCERTAIN = "clock-times-uncertain"
    """Sample times are known to `u_s` at worst."""
