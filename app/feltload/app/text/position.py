"""Positions in words a gym knows: the part of the travel, the way of the handle, and the angle where there is one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from feltload.app.text.numbers import degrees
from feltload.core import Fact
from feltload.signal import AngleKind, Travel

Span = tuple[float, float]

THIRDS = ("first third", "middle", "last third")
AT_AN_END = 0.015
"""Within this share of the travel from an end, a position is that end."""
GIVEN_RAD = math.radians(0.5)
"""A range that goes on outside the travel by more than this is told as it was given too."""


def describe_position(angle_rad: float, travel: Travel, *, of: str = "the travel") -> str:
    """``62 % of the travel (middle, 31 cm from the start stop, 12°)``; `of` names what it is a part of."""
    share, angle = travel.share(angle_rad), angle_text(angle_rad, travel)
    return _position(share, travel.way_m(angle_rad), travel.length_m, angle, of)


def describe_fact_position(fact: Fact) -> str:
    """The same for a fact that carries its position."""
    share, way_m = fact.figure("travel_share"), fact.figure("handle_path_m")
    known = None if math.isnan(way_m) else way_m
    angle = _fact_angle(fact)
    if math.isnan(share):
        return angle
    return _position(share, known, None, angle, "the travel")


def describe_fact_stretches(fact: Fact) -> str:
    """``−20° to −12°, 50° to 55°`` on a lever, otherwise shares or centimetres, of a fact's `low` and `high` ends."""
    ends = zip(*(_ends(fact, end) for end in ("low", "high")), strict=True)
    return ", ".join(low if low == high else f"{low} to {high}" for low, high in ends)


def angle_text(angle_rad: float, travel: Travel) -> str:
    """``12°``, ``handle line at 4°`` or, where nothing else is known, ``sensor turned 385°``; empty for no angle."""
    if not travel.shows_angle:
        return ""
    return _named(travel.scale.angle, float(travel.shown_rad(angle_rad)), travel.scale.part)


def shared_position(angle_rad: float, travel: Travel, by: Literal["handle", "travel", "angle"]) -> str:
    """``62 % of the travel``, ``31 cm from the start stop`` or ``12°``: what is the same on several machines."""
    way_m = travel.way_m(angle_rad)
    if by == "handle" and way_m is not None:
        return f"{_centimetres(way_m)} cm from the start stop"
    return (
        angle_text(angle_rad, travel)
        if by == "angle"
        else f"{_percent(angle_rad, travel):.0f} % of the travel"
    )


def shared_span(span_rad: Span, travel: Travel, by: Literal["handle", "travel", "angle"]) -> str:
    """``30 to 62 % of the travel``, ``14 to 31 cm from the start stop`` or ``−5° to 12°``."""
    ways = travel.ways_m(span_rad)
    if by == "handle" and ways is not None:
        return f"{ways_text(*ways)} from the start stop"
    return _angles(span_rad, travel) if by == "angle" else f"{shares_text(span_rad, travel)} of the travel"


def describe_place(angle_rad: float, travel: Travel) -> str:
    """``middle, 31 cm from the start stop, 12°``: what stands beside a share."""
    angle = angle_text(angle_rad, travel)
    return _beside(travel.share(angle_rad), travel.way_m(angle_rad), angle)


def short_position(angle_rad: float, travel: Travel) -> str:
    """``62 % (12°)`` on a lever, ``62 % (31 cm)`` elsewhere, where room is short."""
    return f"{_percent(angle_rad, travel):.0f} % ({travel.said_beside(angle_rad)})"


def describe_span(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 % of the travel (14 to 31 cm from the start stop, −5° to 12°)``; angles alone outside the travel."""
    if _is_outside(span_rad, travel):
        return ends_text(span_rad, travel)
    inside, given = _inside(span_rad, travel)
    ways = [_centimetres(way) for way in map(travel.way_m, inside) if way is not None]
    cm = f"{ways[0]} to {ways[1]} cm from the start stop" if len(ways) == 2 else ""
    beside = ", ".join(words for words in (cm, _angles(inside, travel)) if words)
    return f"{shares_text(span_rad, travel)} of the travel ({beside}{given})"


def short_span(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 % of the travel (−5° to 12°)``: the same with one figure beside the share."""
    if _is_outside(span_rad, travel):
        return ends_text(span_rad, travel)
    inside, given = _inside(span_rad, travel)
    return f"{shares_text(span_rad, travel)} of the travel ({ends_text(inside, travel)}{given})"


def stretch_text(first_rad: float, last_rad: float, travel: Travel) -> str:
    """``30 to 62 % (−5° to 12°)``, in the order of the movement, where the head says of what it is a part."""
    return f"{shares_text(span := (first_rad, last_rad), travel)} ({ends_text(span, travel)})"


def shares_text(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 %``, where the head says of what it is a part."""
    first, last = (_percent(angle, travel) for angle in span_rad)
    return f"{first:.0f} to {last:.0f} %"


def ends_text(span_rad: Span, travel: Travel) -> str:
    """``−5° to 12°`` on a lever; elsewhere ``14 to 31 cm`` from the start stop."""
    ways = [travel.way_m(angle) for angle in span_rad]
    if travel.scale.angle is AngleKind.LEVER or None in ways:
        return _angles(span_rad, travel)
    return f"{' to '.join(_centimetres(way) for way in ways if way is not None)} cm"


def ways_text(low_m: float, high_m: float) -> str:
    """``14 to 31 cm``."""
    return f"{_centimetres(low_m)} to {_centimetres(high_m)} cm"


def third(share: float) -> str:
    """``first third``, ``middle`` or ``last third``."""
    return THIRDS[min(max(int(3.0 * share), 0), 2)]


def in_third(share: float) -> str:
    """``in the first third``, ``in the middle`` or ``in the last third``."""
    return f"in the {third(share)}"


def range_text(low_rad: float, high_rad: float, travel: Travel) -> str:
    """``62°`` on a lever, ``48 cm`` elsewhere: how far one movement went."""
    ways = travel.ways_m([low_rad, high_rad])
    if travel.scale.angle is AngleKind.LEVER or ways is None:
        return degrees(high_rad - low_rad)
    return f"{_centimetres(float(ways[1] - ways[0]))} cm"


def describe_length(travel: Travel) -> str:
    """``50 cm of handle travel (62° of lever angle)``: how far the whole travel goes."""
    turned = degrees(float(travel.angle_rad[-1] - travel.angle_rad[0]))
    turning = (
        turned
        if travel.scale.angle is AngleKind.LEVER
        else f"{turned} of rotation of {_part(travel.scale.part)}"
    )
    if travel.length_m is None:
        return f"{turning} of travel" if travel.scale.angle is AngleKind.LEVER else turning
    return f"{_centimetres(travel.length_m)} cm of handle travel ({turning})"


def tick_text(angle_rad: float, travel: Travel) -> str:
    """``62 %``, ``31 cm`` and ``12°`` below one another, as far as there are such, for an axis of the travel."""
    way_m = travel.way_m(angle_rad)
    rows = [f"{100.0 * travel.share(angle_rad):.0f} %"]
    if way_m is not None:
        rows.append(f"{_centimetres(way_m)} cm")
    if travel.shows_angle:
        rows.append(degrees(float(travel.shown_rad(angle_rad))))
    return "\n".join(rows)


def axis_label(travel: Travel, *, wide: bool) -> str:
    """What the rows of `tick_text` are."""
    rows = ["part of the travel" if wide else "part of travel"]
    if travel.path_m is not None:
        rows.append("handle travel from the start stop" if wide else "from start stop")
    if travel.shows_angle:
        rows.append(_axis_angle(travel, wide=wide))
    return " · ".join(rows)


def describe_positions_column(travel: Travel, *, measured: bool) -> str:
    """What stands beside the shares of `short_position`."""
    beside = "the lever angle"
    if travel.scale.angle is not AngleKind.LEVER:
        turned = f"the rotation of {_part(travel.scale.part)}"
        beside = turned if travel.path_m is None else "the way of the handle from the start stop"
    return f"Positions are parts of the {'measured ' * measured}travel, with {beside} beside them."


def angle_name(travel: Travel) -> str:
    """``lever angle`` or what the sensor turns with: ``rotation of the drum``."""
    return (
        "lever angle" if travel.scale.angle is AngleKind.LEVER else f"rotation of {_part(travel.scale.part)}"
    )


def _axis_angle(travel: Travel, *, wide: bool) -> str:
    turned = f"rotation of {_part(travel.scale.part)}"
    return {
        AngleKind.LEVER: "lever angle above horizontal" if wide else "lever angle",
        AngleKind.HANDLE_LINE: "angle of the handle's line above horizontal" if wide else "handle's line",
        AngleKind.ROTATION: turned,
    }[travel.scale.angle]


def _position(share: float, way_m: float | None, length_m: float | None, angle: str, of: str) -> str:
    if not -AT_AN_END <= share <= 1.0 + AT_AN_END:
        return _outside(share, way_m, length_m, angle)
    if share < AT_AN_END or share > 1.0 - AT_AN_END:
        end = f"the {'start' if share < 0.5 else 'end'} of {of}"
        far = "" if way_m is None or angle else f"{_centimetres(way_m)} cm from the start stop"
        return f"{end} ({angle or far})" if angle or far else end
    return f"{100.0 * share:.0f} % of {of} ({_beside(share, way_m, angle)})"


def _beside(share: float, way_m: float | None, angle: str) -> str:
    way = "" if way_m is None else f"{_centimetres(way_m)} cm from the start stop"
    return ", ".join(words for words in (third(share), way, angle) if words)


def _outside(share: float, way_m: float | None, length_m: float | None, angle: str) -> str:
    if angle:
        return f"{angle}, outside the measured travel"
    where = "before the start" if share < 0.0 else "past the end"
    beyond = max(-share, share - 1.0)
    far = f"{100.0 * beyond:.0f} %" if length_m is None else f"{_centimetres(beyond * length_m)} cm"
    return f"{far} {where} of the measured travel"


def _angles(span_rad: Sequence[float], travel: Travel) -> str:
    if not travel.shows_angle:
        return ""
    first, last = (degrees(float(travel.shown_rad(angle))) for angle in span_rad)
    if first == last and travel.scale.angle is AngleKind.HANDLE_LINE:
        return ""
    lead = {
        AngleKind.LEVER: "",
        AngleKind.HANDLE_LINE: "handle line ",
        AngleKind.ROTATION: f"rotation of {_part(travel.scale.part)} ",
    }[travel.scale.angle]
    return f"{lead}{first} to {last}"


def _named(kind: AngleKind, shown_rad: float, part: str) -> str:
    return {
        AngleKind.LEVER: degrees(shown_rad),
        AngleKind.HANDLE_LINE: f"handle line at {degrees(shown_rad)}",
        AngleKind.ROTATION: f"rotation of {_part(part)} {degrees(shown_rad)}",
    }[kind]


def _part(part: str) -> str:
    return f"the {part or 'sensor'}"


def _fact_angle(fact: Fact) -> str:
    figures = fact.figures
    if "angle_rad" in figures:
        return _named(AngleKind.LEVER, fact.figure("angle_rad"), "")
    if "handle_line_rad" in figures:
        return _named(AngleKind.HANDLE_LINE, fact.figure("handle_line_rad"), "")
    if "rotation_rad" in figures and "handle_path_m" not in figures:
        return _named(AngleKind.ROTATION, fact.figure("rotation_rad"), str(figures.get("turning_part", "")))
    return ""


def _ends(fact: Fact, end: str) -> list[str]:
    """One end of each of a fact's stretches, in what its machine's positions are told in."""
    if fact.figures.get("angle", AngleKind.LEVER) == AngleKind.LEVER:
        return [degrees(value) for value in _values(fact, f"{end}_rad")]
    if f"{end}_path_m" in fact.figures:
        return [f"{_centimetres(value)} cm" for value in _values(fact, f"{end}_path_m")]
    return [f"{100.0 * value:.0f} %".replace("-", "−") for value in _values(fact, f"{end}_share")]


def _values(fact: Fact, name: str) -> Sequence[float]:
    value = fact.figures.get(name)
    if isinstance(value, tuple):
        return [float(item) for item in value]
    return [fact.figure(name)]


def _percent(angle_rad: float, travel: Travel) -> float:
    return 100.0 * min(max(travel.share(angle_rad), 0.0), 1.0)


def _centimetres(way_m: float) -> str:
    """``31``, with a proper minus sign and never a negative zero."""
    return f"{100.0 * way_m:z.0f}".replace("-", "−")


def _inside(span_rad: Span, travel: Travel) -> tuple[Span, str]:
    """The part of a range within the measured travel, and how it was given where that is more."""
    low, high = (float(np.clip(angle, *travel.ends_rad)) for angle in span_rad)
    cut = max(abs(low - span_rad[0]), abs(high - span_rad[1])) > GIVEN_RAD
    return (low, high), f"; given as {ends_text(span_rad, travel)}" if cut else ""


def _is_outside(span_rad: Span, travel: Travel) -> bool:
    low, high = travel.ends_rad
    return min(span_rad) >= high or max(span_rad) <= low
