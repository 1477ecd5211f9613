"""A client's two sides and a client's history, in plain words. Never a medical claim."""

from __future__ import annotations

from feltload.app.text.numbers import degrees
from feltload.coaching import CapacitySideDifference, ValueChange


def describe_sides(sides: CapacitySideDifference) -> list[str]:
    """Whether the sides differ by more than was measured, and where most."""
    size = f"{100 * abs(sides.mean):.0f} % ± {100 * sides.mean_u95:.0f} %"
    span = f"{degrees(float(sides.angle_rad[0]))} to {degrees(float(sides.angle_rad[-1]))}"
    whole = (
        f"The {_stronger(sides.mean)} side is stronger, by {size} on the whole."
        if sides.differs
        else f"Left and right differ by no more than the measurement can tell ({size})."
    )
    if sides.greatest is None:
        return [whole, f"At no position from {span} is a difference beyond the measurement's uncertainty."]
    difference, u95 = sides.difference[sides.greatest], sides.u95[sides.greatest]
    return [
        whole,
        f"Most at {degrees(float(sides.angle_rad[sides.greatest]))} (of {span}): the {_stronger(difference)} side "
        f"has {100 * abs(difference):.0f} % ± {100 * u95:.0f} % more.",
    ]


def _stronger(difference: float) -> str:
    return "right" if difference > 0 else "left"


def describe_value_change(change: ValueChange) -> str:
    """One sentence: whether a kept force changed by more than measurement noise."""
    what = f"{change.kind} {change.name.removesuffix('_n').replace('_', ' ')}, {change.machine}"
    side = f", {change.side}" if change.side else ""
    return (
        f"{change.before_date[:10]} to {change.after_date[:10]}: {what}{side}: {abs(change.change):.0f} N "
        f"{'more' if change.change >= 0 else 'less'}, {'beyond' if change.beyond_noise else 'within'} measurement "
        f"noise (±{change.minimal_difference:.0f} N)."
    )
