"""Words of the page during a measurement."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from feltload.acquisition import StreamStatus
from feltload.app.running.enough import Improvement, Outlook
from feltload.app.text.numbers import degrees, figure, force_text, load_text, number, sentence

HEADING: Final = "Measure"
NOTHING: Final = "Nothing is being recorded. Set it up on the start page."
TO_START: Final = "To the start page"
LOST: Final = "No connection to the laptop. What is recorded there goes on; this page tries again."
BOARD: Final = "The machine from the side, and the force at its handle over the handle's path."
COVERAGE: Final = "Passed so far, start stop left"
UP: Final = "up"
DOWN: Final = "down"
CONNECTING: Final = "Connecting to the sensors …"
OVER: Final = "The recording is closed."

PAIN: Final = "Pain: stop"
GO_ON: Final = "Go on"
HANDS_OFF: Final = "Hands are off"
END: Final = "End"
END_SURE: Final = "End: tap again"
RESULT: Final = "To the result"
MARKS: Final = "Marks"
KNOCK: Final = "Knocked once"
TARE: Final = "Zero now: hands off"
NOTE: Final = "Note"
NOTE_SET: Final = "Set the note"
PLATES: Final = "New load, with its plates"
PLATES_HINT: Final = 'such as "50 kg: 20 + 20 + 10"'
PLATES_SET: Final = "The load is changed"
MARKED: Final = "Marked."

TAP_GO_ON: Final = f"“{GO_ON}”"
TAP_END: Final = f"“{END}”"
TAP_ZERO_AFTER: Final = f"tap “{HANDS_OFF}”"


def tare_text(left_s: float) -> str:
    """What the rest at the start asks for."""
    left = "" if math.isnan(left_s) else f": {max(1, math.ceil(left_s))} s of rest"
    return f"Hands off, arm on its stop{left}."


def place_text(share: float, angle_rad: float) -> str:
    """``42 % of the way so far, 12°``."""
    if not math.isfinite(angle_rad):
        return ""
    part = (
        "" if not math.isfinite(share) else f"{100.0 * min(max(share, 0.0), 1.0):.0f} % of the way so far, "
    )
    return f"{part}{degrees(angle_rad)}"


def side_text(side: str | None) -> str:
    """An arm, where the rig has both."""
    return {"left": "left arm", "right": "right arm"}.get(side or "", "")


def band_text(share: float, repetitions: int, *, enough: bool, side: str = "") -> str:
    """How good the profile is by now: that of the arm whose band is wider, where there are two."""
    if math.isnan(share):
        return ""
    counted = "1 repetition" if repetitions == 1 else f"{repetitions} repetitions"
    which = f" of the {side}" if side else ""
    now = f"The band{which} is now ±{_percent(share)} of the peak, from {counted}"
    return f"{now}: enough." if enough else f"{now}."


def more_text(more: Outlook) -> str:
    """What one thing more would bring."""
    band = f"would bring ±{_percent(more.band_share)}"
    if more.improvement is Improvement.ZERO_AFTER:
        return f"A hands-off rest at the end {band}."
    count = _COUNTS.get(more.repetitions, str(more.repetitions))
    speed = "slow" if more.improvement is Improvement.SLOW else "brisk"
    ones = "one" if more.repetitions == 1 else "ones"
    return f"{count} more {speed} {ones} at {load_text(more.load_kg)} {band}."


_COUNTS: Final[Mapping[int, str]] = {1: "One", 2: "Two", 3: "Three", 4: "Four", 5: "Five", 6: "Six"}


def sensor_text(stream: StreamStatus, trouble: str) -> str:
    """One sensor: what it sends, or why it does not."""
    if trouble:
        return f"{stream.name}: {trouble}"
    if not stream.connected:
        return f"{stream.name}: not connected"
    rate = "" if math.isnan(stream.rate_hz) else f"{number(stream.rate_hz, '.0f')} per second"
    lost = stream.health.lost
    missing = f", {lost} missing" if lost else ""
    return f"{stream.name}: {rate or 'waiting'}{missing}"


def coverage_text(rows: Sequence[Sequence[int]]) -> str:
    """The coverage for those who cannot see it."""
    said = []
    for word, row in zip((UP, DOWN), rows, strict=False):
        passed = sum(1 for count in row if count > 0)
        said.append(f"{word}: {passed} of {len(row)} parts passed")
    return "; ".join(said)


def board_text(place: str, force_n: float, side: str = "") -> str:
    """The drawing for those who cannot see it."""
    board = f"{sentence(side)} {BOARD}" if side else BOARD
    if not math.isfinite(force_n):
        return board
    return f"{board} Now {force_text(force_n)}{f' at {place}' if place else ''}."


def _percent(share: float) -> str:
    return f"{figure(100.0 * share)} %"
