"""A client's strength, sides and history, in plain words. Never a medical claim."""

from __future__ import annotations

from feltload.app.text.numbers import degrees, force_text
from feltload.coaching import CapacityCurve, CapacitySideDifference, ValueChange


def describe_capacity(curve: CapacityCurve) -> list[str]:
    """Where a person is strongest, and over which positions that is known."""
    strongest = curve.strongest
    return [
        f"Strongest at {degrees(curve.angle_rad[strongest])}: {force_text(curve.force_n[strongest])}, "
        f"± {curve.u95_n[strongest]:.0f} N",
        f"Known from {degrees(curve.angle_rad[0])} to {degrees(curve.angle_rad[-1])}; nothing is stated outside.",
    ]


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
