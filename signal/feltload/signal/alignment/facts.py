"""What can be found about the lag between the sensors and the sign of the motion."""

from __future__ import annotations

from enum import StrEnum


class AlignmentFact(StrEnum):
    """Kinds of facts about lag and direction."""

    BEGINS_WITH_LOWERING = "begins-with-lowering"
    """The first movement is a lowering, by the signs of friction and inertia."""

    FORCE_HOLE = "force-hole"
    """Nothing is known of the force in the span."""

    COUNTED_FROM_LOWER_END = "counted-from-lower-end"
    """No rest on the start stop was seen: rotation is counted from the lower end of the travel, to `u_rad`."""

    DRIFT_TAKEN_OFF = "angle-drift-taken-off"
    """The angle drifted by up to `drift_rad`, as the force at equal positions showed; taken off."""

    ZERO_DRIFT = "zero-drift-estimated"
    """The force at equal positions changed with time as a cell's zero does: by `drift_n` (with `u95_n`) from the tare
    to the end, over `duration_s`; taken off. `checked`: a zero taken afterwards agrees."""

    ZERO_DRIFT_DISAGREES = "zero-drift-disagrees"
    """The zero afterwards says a drift of `rests_n`, the repetitions one of `drift_n` with `u95_n`."""

    LAG_UNKNOWN = "lag-unknown"
    """The motion does not fix the lag: `lag_s` is assumed, with `u_s`."""

    LAG_LEFT_IN = "lag-left-in"
    """Nothing shows the lag, and the force of a table stays where it arrived."""

    LAG_LARGE = "lag-large"
    """The force comes `lag_s` after the motion, more than sensors delay."""

    LAGS_DISAGREE = "lags-disagree"
    """Readings that do not agree: `methods`, `lag_s`, `u_s`, in the same order."""
