"""Ranges that were marked, as they are told and typed: no part of a travel is meant."""

from __future__ import annotations

import math

from feltload.app.text.numbers import degrees
from feltload.app.text.position import Span, ends_text, ways_text
from feltload.coaching import PainMark
from feltload.signal import AngleKind, Travel


def place_text(span_rad: Span, travel: Travel) -> str:
    """``−5° to 12°`` on a lever, ``14 to 31 cm from the start stop`` elsewhere, where no part of a travel is meant."""
    ways = [travel.way_m(angle) for angle in span_rad]
    beside = "" if travel.scale.angle is AngleKind.LEVER or None in ways else " from the start stop"
    return f"{ends_text(span_rad, travel)}{beside}"


def typed_span(span_rad: Span, travel: Travel) -> str:
    """``20:40 deg`` or ``30:45 cm``: a range as it is typed, widened to whole numbers."""
    ways = travel.ways_m(span_rad)
    if travel.scale.angle is AngleKind.LEVER or ways is None:
        low, high = (math.degrees(angle) for angle in span_rad)
        return f"{math.floor(low + 1e-6)}:{math.ceil(high - 1e-6)} deg"
    return f"{math.floor(1e3 * ways[0] + 1e-6)}:{math.ceil(1e3 * ways[1] - 1e-6)} mm"


def mark_text(mark: PainMark) -> str:
    """``20° to 40°``, or ``30 to 45 cm from the start stop`` where angles are no positions, as it was marked."""
    if mark.angle in (None, AngleKind.LEVER) or mark.low_m is None or mark.high_m is None:
        return f"{degrees(mark.low_rad)} to {degrees(mark.high_rad)}"
    return f"{ways_text(mark.low_m, mark.high_m)} from the start stop"
