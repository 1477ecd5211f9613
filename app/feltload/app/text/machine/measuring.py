"""What to measure each dimension of a machine with, by tape, level and scale."""

from __future__ import annotations

from typing import Final

_HOW: Final[dict[str, str]] = {
    "start_angle": "digital level along the line from pivot to handle, machine on its start stop",
    "handle_radius": "tape from the pivot's centre to where the hand pulls",
    "hinge_inclination": "digital level along the hinge's axle",
    "pull_direction": "digital level along the strap, under a light pull",
    "rope_direction": "digital level along the rope at the handle; it counts only where the handle itself is heavy",
    "pull_angle": "angle between the line from pivot to handle and the line of the pull",
    "radius": "tape from the pivot's centre to the centre of the mass or peg",
    "angle": "digital level along the line from pivot to the mass, machine on its start stop",
    "mass": "weigh it; a nominal mass is only good to 2-3 % (common practice, no source)",
    "gyration_radius": "a third of the part's length if it is a plain bar; only matters for brisk motion",
    "incline": "digital level on the rail",
    "wheel_radius": "travel of ten turns, divided by 2 pi times ten",
    "pulley_radius": "rope that ten turns pull through, divided by 2 pi times ten",
    "pulley_efficiency": "hang two weights over the pulley: the lighter over the heavier, where it just moves slowly",
    "handle_ratio": "move the sled by 100 mm and measure how far the handle goes",
    "rail_friction": "tilt at which the empty sled just starts to slide: its tangent",
    "drum_radius": "calliper over the drum, half of it, plus half the cable",
    "cam": "tape or calliper from the axle's centre square to the cable, at several turns from the start stop",
    "offset": "calliper; half the cable's thickness belongs to the moment arm",
    "mounting": "mark the cam's zero on the start stop",
    "pulley_ratio": "pull 100 mm of cable off the drum; 100 divided by the millimetres that the stack rises",
    "efficiency": "stack's weight over the force that just raises it slowly, at the cable, pulleys counted in",
    "stiffness": "hang two known weights and measure the stretch between them",
    "free_length": "tape along the spring when it carries nothing",
    "input_angle": "digital level along the input link, machine on its start stop",
    "ground_angle": "digital level along the line between the two fixed pivots",
}
"""Dimension -> what to measure it with."""
_HOW_PARTLY: Final[dict[str, str]] = {
    "length": "tape between the centres of the joints",
    "anchor": "tape and level from the pivot",
}
"""The same for dimensions with this in their name."""


def how_to_measure(dotted: str) -> str:
    """What to measure a dimension with, by its key in the file, such as "handle_radius" or "plates.radius"."""
    dimension = dotted.rpartition(".")[2]
    if dimension in _HOW:
        return _HOW[dimension]
    partly = (how for part, how in _HOW_PARTLY.items() if part in dotted)
    return next(partly, "measure it, or take it from a data sheet")
