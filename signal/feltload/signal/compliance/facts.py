"""What can be found about a machine that gives."""

from __future__ import annotations

from enum import StrEnum


class ComplianceFact(StrEnum):
    """Kinds of facts about play and flex. `place`: "before" where the sensor's part moves with the handle and the load
    follows, "past" where the sensor sits with the load."""

    PLAY = "joint-has-play"
    """The handle moves `play_rad` (95 % within `u95_rad`), `handle_m` of its travel where that is known, before the
    load follows, as `count` starts and set-downs show."""

    FLEX = "machine-bends"
    """The machine rings at `frequency_hz` (95 % within `u95_hz`) with a damping ratio of `damping` (`u95_damping`)
    after `count` starts and knocks; at its heaviest it winds up by `wind_up_rad`."""
