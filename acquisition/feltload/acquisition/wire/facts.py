"""What can be wrong on the way from a sensor to the file, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class HealthFact(StrEnum):
    """What is not as it should be with a stream; each has the figure `count`."""

    FRAMES_DAMAGED = "frames-damaged"
    """The checksum failed, and they were left out."""

    FRAMES_UNREADABLE = "frames-unreadable"
    """Wrong length, columns or numbers; they were left out."""

    SAMPLES_MISSING = "samples-missing"

    SENSOR_RESTARTED = "sensor-restarted"

    SENSOR_CLOCK_JUMPED = "sensor-clock-jumped"

    RANGE_END_REACHED = "range-end-reached"

    ABOVE_RATED_CAPACITY = "above-rated-capacity"

    MESSAGES_NOT_KEPT = "messages-not-kept"
    """The recorder's queue or the disk was full."""
