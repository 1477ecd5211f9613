"""What can be found about the motion of the arm and the sensor on it."""

from __future__ import annotations

from enum import StrEnum


class HingeFact(StrEnum):
    """Kinds of facts about inertial samples, the hinge and the sensor's mounting."""

    NO_VALUE = "inertial-no-value"
    """Samples without a value, left out: `count`."""

    REPEATED_TIMES = "inertial-repeated-times"
    """Samples with repeated times, left out: `count`."""

    STUCK_READING = "inertial-stuck-reading"
    """The same reading sent again and again while moving, left out as a gap: `count`, span."""

    REPEATED_READINGS = "inertial-repeated-readings"
    """Every reading is sent several times, repetitions left out: `count` rows, `rate_hz` of what remains."""

    WILD_SAMPLES = "gyro-wild-samples"
    """Single wild samples, replaced: `count`; the span starts at the first."""

    JUMPS_ABOUT = "gyro-jumps-about"
    """Disturbed stretches, treated as unknown rotation: `count`, span."""

    AT_LIMIT = "inertial-at-limit"
    """Samples at the end of the range: `sensor` ("gyroscope", "accelerometer"), `count`, span."""

    SENSOR_MOVED = "sensor-moved"
    """The hinge axis changed in the sensor's frame: `turned_rad`; the span starts then."""

    NOT_A_HINGE = "not-a-hinge"
    """Rotation across the axis over that about it: `share`."""

    SLIPPED_ABOUT_HINGE = "sensor-slipped-about-hinge"
    """The sensor slipped by `turned_rad` or more; the span starts then."""

    REST_CHANGED = "rest-position-changed"
    """The lowest rest changed by `turned_rad`; the span starts then."""

    NO_GRAVITY = "accelerometer-no-gravity"
    """What the accelerometer reads in place of gravity: `accel_m_s2`."""

    SENSORS_DISAGREE = "accelerometer-disagrees"
    """Accelerometer against gyroscope, rms: `accel_m_s2`."""

    GRAVITY_LEFT_OUT = "hinge-near-vertical"
    """Gravity in the plane of turning, `gravity_m_s2`, is too small to tell the angle: what holds it is `held_by`
    ("stop", "rests", "ends", "nothing"), and the gyroscope's scale is only known to `u_scale`."""

    UNUSUAL_SCALE = "gyro-scale-unusual"
    """True rate is ``(1 + scale)`` times the reading; `u_scale` was expected."""

    NOT_SETTLED = "angle-not-settled"
    """The least squares of the angle did not converge."""

    HOLE = "inertial-hole"
    """Nothing is known of the motion in the span."""

    LEFT_OUT_AFTER_HOLE = "inertial-left-out-after-hole"
    """The span is left out: the arm's angle after a hole cannot be determined. All such spans are `share` of the
    recording."""

    NO_REST_BEFORE = "no-rest-before-motion"
    """No rest before the first movement: the start is not known."""

    INCLINATION_DIFFERS = "hinge-inclination-differs"
    """The hinge is inclined by `measured_rad` where the machine file has `stated_rad`, or states nothing (no such
    figure): its forces, or those of a level hinge, are off by `share`."""
