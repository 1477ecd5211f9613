"""Which columns are counter and clock, and the times of frames by them."""

from __future__ import annotations

import numpy as np

from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.fields.clocks import FoundClock, find_clock, is_counter
from feltload.acquisition.guessing.fields.raw_column import Keys, RawColumn
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.core import Fact, Figure, Floats, Severity

__all__ = ["frame_times", "frames_hz", "name_counters"]


def name_counters(
    columns: list[RawColumn], host_s: Floats, named: dict[int, Keys], *, text: bool
) -> list[Fact]:
    """Name clock and counter, and tell what was found of them."""
    facts: list[Fact] = []
    clocks: list[tuple[int, FoundClock]] = []
    counters = []
    for k, column in enumerate(columns):
        if column.constant or column.keys.get("type", "number")[0] == "f":
            continue
        if column.whole and is_counter(column.counter, column.wraps_at):
            counters.append(k)
        elif (found := find_clock(column.counter, host_s, column.wraps_at)) is not None:
            clocks.append((k, found))
    if not clocks:
        # At a thousand frames a second a clock in ms goes up by one as well.
        for k in counters[1:] if len(counters) > 1 else []:
            found = find_clock(columns[k].counter, host_s, columns[k].wraps_at)
            if found is not None and found.known_rate:
                clocks.append((k, found))
                counters.remove(k)
                break
    known = [item for item in clocks if item[1].known_rate] or clocks
    if known:
        k, clock = max(known, key=lambda item: columns[item[0]].wraps_at or 0)
        named[k] = _clock_keys(columns[k], clock, facts, text=text)
    else:
        facts.append(Fact(GuessFact.CLOCK_MISSING, Severity.NOTE))
    if counters:
        named[counters[0]] = {"name": "seq"}
        facts.append(Fact(GuessFact.COUNTER_FOUND, Severity.NOTE, figures={"field": counters[0] + 1}))
    return facts


def _clock_keys(column: RawColumn, clock: FoundClock, facts: list[Fact], *, text: bool) -> Keys:
    keys: Keys = {"name": "device_time", "unit": clock.unit}
    if clock.scale != 1.0:
        keys["scale"] = clock.scale
    kind = GuessFact.CLOCK_FOUND if clock.known_rate else GuessFact.CLOCK_RATE_MEASURED
    severity = Severity.NOTE if clock.known_rate else Severity.CAUTION
    figures: dict[str, Figure] = {"ticks_hz": clock.ticks_hz, "unit": clock.unit, "key": "device_time"}
    facts.append(Fact(kind, severity, figures=figures))
    if clock.wrap is not None:
        seen: dict[str, Figure] = {"wrap": clock.wrap, "wrap_s": clock.wrap / clock.ticks_hz}
        facts.append(Fact(GuessFact.CLOCK_WRAP_SEEN, Severity.NOTE, figures=seen))
        if clock.wrap != column.wraps_at:
            keys["wrap"] = clock.wrap
        return keys
    wrap = column.wraps_at
    if (
        wrap is None
        and text
        and column.whole
        and column.counter.max() < 2.0**32
        and clock.unit in ("us", "ms")
    ):
        # Boards print 32-bit counters of us or ms: common practice, no source.
        keys["wrap"] = wrap = 1 << 32
    if wrap is not None:
        assumed: dict[str, Figure] = {"wrap": wrap, "wrap_s": wrap / clock.ticks_hz, "key": "device_time"}
        facts.append(Fact(GuessFact.CLOCK_WRAP_ASSUMED, Severity.NOTE, figures=assumed))
    return keys


def frame_times(columns: list[RawColumn], named: dict[int, Keys], host_s: Floats) -> Floats:
    """Time of the frames: by the clock, else evenly between first and last arrival."""
    for k, keys in named.items():
        if keys["name"] == "device_time":
            steps = np.diff(columns[k].counter)
            size = keys.get("wrap") or columns[k].wraps_at
            steps = np.mod(steps, size) if size else steps
            unit_s = FieldDescription.model_validate(keys).si_factor
            return np.concatenate([[0.0], np.cumsum(np.maximum(steps, 0.0))]) * unit_s
    return np.linspace(0.0, float(host_s[-1] - host_s[0]), host_s.size)


def frames_hz(columns: list[RawColumn], named: dict[int, Keys]) -> float | None:
    """Frames a second by the clock, lost ones left out."""
    for k, keys in named.items():
        if keys["name"] == "device_time":
            steps = np.diff(columns[k].counter)
            size = keys.get("wrap") or columns[k].wraps_at
            steps = np.mod(steps, size) if size else steps[steps > 0]
            middle = float(np.median(steps))
            even = steps[np.abs(steps - middle) <= 0.5 * middle + 1.0]
            unit_s = FieldDescription.model_validate(keys).si_factor
            return float(1.0 / (even.mean() * unit_s)) if even.size and even.mean() > 0 else None
    return None
