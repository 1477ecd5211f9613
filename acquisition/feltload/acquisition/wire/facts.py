"""What can be wrong on the way from a sensor to the file, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class HealthFact(StrEnum):
    """What is not as it should be with a stream; each but the last has the figure `count`."""

    FRAMES_DAMAGED = "frames-damaged"
    """The checksum failed, and they were left out."""

    FRAMES_UNREADABLE = "frames-unreadable"
    """Wrong length, columns or numbers; they were left out."""

    SAMPLES_MISSING = "samples-missing"

    LOSS_NOT_COUNTED = "loss-not-counted"
    """Places where samples are missing in a number that cannot be determined."""

    SENSOR_RESTARTED = "sensor-restarted"

    SENSOR_CLOCK_JUMPED = "sensor-clock-jumped"

    RANGE_END_REACHED = "range-end-reached"

    ABOVE_RATED_CAPACITY = "above-rated-capacity"

    MESSAGES_NOT_KEPT = "messages-not-kept"
    """The recorder's queue or the disk was full."""

    WRAP_NOT_DESCRIBED = "wrap-not-described"
    """A counter starts again at 0 after `wrap` counts, which its description does not say: `field`."""
