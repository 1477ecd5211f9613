"""What to do about a machine's profile: one sentence, from its facts. Never advice that adds load."""

from __future__ import annotations

from feltload.app.text.position import describe_position, third
from feltload.core import Severity
from feltload.signal import FLAT_SHARE, ProfileEstimate, Shape, Travel, friction_share

STIFF_SHARE = 0.15
"""Friction above this part of the force is worth a look at bearings and guides (common practice, no source)."""

_AT_THIRD = {
    "first third": (
        "to take the hardest part away, set a later start stop, let a partner help over the first third, or take "
        "plates off: plates that suit the rest of the travel are too heavy at the start"
    ),
    "middle": (
        "to take the hardest part away, let a partner help over the middle, or take plates off: plates that suit both "
        "ends are too heavy in the middle"
    ),
    "last third": (
        "to take the hardest part away, turn before it (a stop), let a partner help over the last third, or take "
        "plates off: plates that suit the rest of the travel are too heavy at the end"
    ),
}


def describe_advice(
    estimate: ProfileEstimate, load_index: int, shape: Shape, *, differs: bool = False
) -> str:
    """What a coach may do about where one load is heaviest; the machine and the data come first.

    Parameters
    ----------
    estimate : ProfileEstimate
    load_index : int
    shape : Shape
        Of that load.
    differs : bool
        Whether the measurement differs from the machine file.
    """
    if any(fact.severity == Severity.SERIOUS for fact in estimate.warnings):
        return "What to do: do not use this result yet; read what is wrong with the data below, and record again."
    first = "look at the machine, which differs from its machine file (below); then " if differs else ""
    travel = estimate.travel
    if (shape.peak_n - shape.low_n) < FLAT_SHARE * abs(shape.peak_n):
        advice = "the plates decide, not the position: choose them for the client, starting light"
    elif shape.shape == "descending-ascending":
        advice = (
            "both ends are heavy: a later start stop and an earlier turn keep out of them, a partner can help over "
            f"them, or take plates off; the heavier one is {_end(travel, shape)}"
        )
    else:
        advice = _AT_THIRD[third(travel.share(shape.peak_angle_rad))]
    stiff = friction_share(estimate, load_index)
    also = (
        f" Friction is {100.0 * stiff:.0f} % of the force: have bearings, guides and cables looked at."
        if stiff > STIFF_SHARE
        else ""
    )
    return f"What to do: {first}{advice}.{also}"


def _end(travel: Travel, shape: Shape) -> str:
    return describe_position(shape.peak_angle_rad, travel)
