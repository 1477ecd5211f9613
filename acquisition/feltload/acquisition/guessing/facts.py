"""What a guess found and what it leaves open, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class GuessFact(StrEnum):
    """What was found, or is to be stated, of a stream; a figure `key` names what to edit."""

    CHECK_PASSED = "check-passed"
    """Figures `name` and `passed`, the share of frames that pass."""

    CHECK_UNKNOWN = "check-unknown"
    """No check value was found: damage between sync words goes unnoticed."""

    CLOCK_FOUND = "clock-found"
    """Figures `field`, `ticks_hz`, `unit`."""

    CLOCK_RATE_MEASURED = "clock-rate-measured"
    """Its counts per second are no usual number: figures `field`, `ticks_hz`, `key`."""

    CLOCK_WRAP_SEEN = "clock-wrap-seen"
    """Figures `field`, `wrap`."""

    CLOCK_WRAP_ASSUMED = "clock-wrap-assumed"
    """It did not start again while listening: figures `field`, `wrap`, `key`."""

    CLOCK_MISSING = "clock-missing"
    """No field is a clock."""

    COUNTER_FOUND = "counter-found"
    """Figure `field`."""

    GRAVITY_FOUND = "gravity-found"
    """Figures `unit`, `scale`, and `full_scale_g` where that is a usual one."""

    GRAVITY_ODD = "gravity-odd"
    """The length of gravity is no usual full scale: figures `scale`, `key`."""

    TURN_RATE_FOUND = "turn-rate-found"
    """The gyro's scale agrees with how far gravity turned: figures `unit`, `scale`, `full_scale_deg_s`."""

    TURN_RATE_UNKNOWN = "turn-rate-unknown"
    """The sensor was not turned enough to tell the gyro's scale: figure `key`."""

    FORCE_IN_COUNTS = "force-in-counts"
    """The force's unit cannot be determined from bytes: figure `key`."""

    FORCE_DOUBTFUL = "force-doubtful"
    """Several fields may be the force: figures `chosen`, `others`."""

    SAMPLES_IN_FRAME = "samples-in-frame"
    """Figure `count`."""

    FIELDS_UNKNOWN = "fields-unknown"
    """Figure `count`: fields that are read past."""

    NOTHING_MEASURED = "nothing-measured"
    """Neither a force nor six axes were found among the fields."""
