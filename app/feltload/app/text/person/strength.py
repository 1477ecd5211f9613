"""A client's strength, sides and history, in plain words. Never a medical claim."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import figure, force_text, listed, plain_degrees, short_force
from feltload.app.text.person.places import mark_text, place_text
from feltload.app.text.person.travel import are_marked
from feltload.app.text.position import Span, describe_place, describe_position, short_position
from feltload.coaching import (
    CapacityCurve,
    CapacitySideDifference,
    ClientPain,
    SessionRecord,
    ValueChange,
)
from feltload.signal import Travel


def describe_capacity(curve: CapacityCurve, held: Travel) -> list[str]:
    """What hurts, where a person is strongest, and over which positions that is known; `held` is their range."""
    strongest = curve.strongest
    pain = (
        [
            f"{are_marked([place_text(span, held) for span in curve.painful_rad])}: this "
            "stays in this file, and every command that reads it keeps the client out of there."
        ]
        if curve.painful_rad
        else []
    )
    return [
        *pain,
        f"Strongest at {describe_position(float(curve.angle_rad[strongest]), held, of='the range held')}: "
        f"{force_text(curve.force_n[strongest])} ± {short_force(float(curve.u95_n[strongest]))}.",
        f"Known from {place_text(held.ends_rad, held)}; nothing is stated outside.",
    ]


def describe_strength_headline(curve: CapacityCurve, held: Travel) -> str:
    """Where a person has most, and where least of the range held."""
    most, least = curve.strongest, int(np.argmin(curve.force_n))
    at_most, at_least = (short_position(float(curve.angle_rad[at]), held) for at in (most, least))
    if curve.force_n[most] - curve.force_n[least] < curve.u95_n[most] + curve.u95_n[least]:
        return (
            "This client has about the same everywhere that was held, as far as the measurement tells: "
            f"at most {_with_band(curve, most)}."
        )
    return (
        f"This client has most at {at_most} of the range held, {_with_band(curve, most)}, and least at "
        f"{at_least}, {_with_band(curve, least)}."
    )


def _with_band(curve: CapacityCurve, at: int) -> str:
    return f"{force_text(curve.force_n[at])} ± {short_force(float(curve.u95_n[at]))}"


def strength_key_figures(curve: CapacityCurve, held: Travel) -> tuple[KeyFigure, ...]:
    """Most, least, and over what range they are known."""
    most, least = curve.strongest, int(np.argmin(curve.force_n))

    def at(place: int) -> str:
        where = describe_place(float(curve.angle_rad[place]), held)
        share = 100.0 * held.share(float(curve.angle_rad[place]))
        return f"± {short_force(float(curve.u95_n[place]))}, at {share:.0f} % of the range held: {where}"

    return (
        KeyFigure("Most", short_force(float(curve.force_n[most])), at(most)),
        KeyFigure("Least", short_force(float(curve.force_n[least])), at(least)),
        KeyFigure("Known over", place_text(held.ends_rad, held), "nothing is stated outside"),
    )


def describe_added(span_rad: Span, machine: str, travel: Travel) -> str:
    """A mark made on purpose."""
    marked = are_marked([place_text(span_rad, travel)])
    return f"{marked} on {machine}: every command with --client keeps this client out of it."


def describe_standing(spans_rad: Sequence[Span], machine: str, travel: Travel) -> str:
    """What is marked now, after a change."""
    if not spans_rad:
        kept = "a capacity file keeps its own marks"
        return f"Nothing is marked painful on {machine} in the client's folder now; {kept}."
    return f"Marked painful on {machine} now: {listed([place_text(span, travel) for span in spans_rad])}."


def describe_removed(span_rad: Span, travel: Travel) -> str:
    """A mark removed on purpose."""
    return (
        f"The mark of {place_text(span_rad, travel)} as painful is removed on purpose; when it stood stays in the "
        "history. Begin there with light loads, and only as a licensed clinician allows."
    )


def describe_sides(sides: CapacitySideDifference) -> list[str]:
    """Whether the sides differ by more than was measured, and where most."""
    size = f"{100 * abs(sides.mean):.0f} % ± {100 * sides.mean_u95:.0f} %"
    compared = sides.travel
    pain = (
        [
            f"Left out, since marked painful: {listed([place_text(span, compared) for span in sides.painful_rad])}."
        ]
        if sides.painful_rad
        else []
    )
    whole = (
        f"The {_stronger(sides.mean)} side is stronger, by {size} on the whole."
        if sides.differs
        else f"Left and right differ by no more than the measurement can tell ({size})."
    )
    if sides.greatest is None:
        return [
            *pain,
            whole,
            f"At no position from {place_text(compared.ends_rad, compared)} is a difference beyond the measurement's "
            "uncertainty.",
        ]
    difference, u95 = sides.difference[sides.greatest], sides.u95[sides.greatest]
    return [
        *pain,
        whole,
        f"Most at {describe_position(float(sides.angle_rad[sides.greatest]), compared, of='the range compared')}: "
        f"the {_stronger(difference)} side "
        f"has {100 * abs(difference):.0f} % ± {100 * u95:.0f} % more.",
    ]


def _stronger(difference: float) -> str:
    return "right" if difference > 0 else "left"


def describe_pain_history(pain: ClientPain) -> list[str]:
    """When a range was marked, and when the mark was removed on purpose."""
    side = f", {pain.side}" if pain.side else ""
    what = mark_text(pain.mark)
    lines = [f"{pain.added[:10]}  marked painful on {pain.machine}{side}: {what}"]
    if pain.removed is not None:
        lines.append(f"{pain.removed[:10]}  mark removed on purpose, {pain.machine}{side}: {what}")
    return lines


def describe_value_change(change: ValueChange) -> str:
    """One sentence: whether a kept force changed by more than measurement noise."""
    what = f"{change.kind} {change.name.removesuffix('_n').replace('_', ' ')}, {change.machine}"
    side = f", {change.side}" if change.side else ""
    return (
        f"{change.before_date[:10]} to {change.after_date[:10]}: {what}{side}: {short_force(abs(change.change))} "
        f"{'more' if change.change >= 0 else 'less'}, {'beyond' if change.beyond_noise else 'within'} measurement "
        f"noise (±{short_force(change.minimal_difference)})."
    )


def describe_session(session: SessionRecord) -> str:
    """A kept result in one sentence, each value with its unit."""
    values = ", ".join(_describe_value(name, value) for name, value in session.values.items())
    return f"{session.date[:10]}: {session.kind} on {session.machine}: {values}."


def _describe_value(name: str, value: float) -> str:
    words, _, unit = name.rpartition("_")
    words = (words or name).replace("_", " ").replace("angle", "position")
    if unit == "n":
        return f"{words} {force_text(value)}"
    return f"{words} {plain_degrees(value)}" if unit == "deg" else f"{words} {figure(value)} {unit}"
