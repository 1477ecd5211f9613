"""What speaks against making a cam, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class CamFact(StrEnum):
    """What a cam's outline shows."""

    HOLLOW = "cam-hollow"
    """The outline is hollow from rotation `from_rad` to `to_rad`: a cable bridges it, so the moment arm is another."""

    SHARP = "cam-sharp"
    """The cable is bent to a radius of `radius_m` at rotation `angle_rad`; `least_m` is the least for its `diameter_m`
    and the ratio `bend_ratio`."""

    BEND_UNCHECKED = "cam-bend-unchecked"
    """The cable's thickness is not given: the least radius of the outline is `radius_m` at `angle_rad`."""

    FOULS = "cam-fouls"
    """At rotation `angle_rad` the cable touches the cam once more beyond the place where it should leave."""

    PULLEY_NEAR = "cam-pulley-near"
    """At rotation `angle_rad` the guide pulley is too near for a moment arm of `arm_m`, or within the cam."""

    TURNS_OVER = "cam-turns-over"
    """The cable lies on the cam through `turn_rad`: more than one turn, which does not fit in one plane."""

    UNWINDS = "cam-unwinds"
    """At rotation `angle_rad` the line of the cable swings as fast as the cam turns: no outline gives that."""
