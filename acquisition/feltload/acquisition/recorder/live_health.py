"""Health of a stream while it is being recorded, from window to window."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.whole import WholeMessages
from feltload.acquisition.wire.health import StreamHealth

_STRETCH_S, _LONGEST_STRETCH_S = 10.0, 20.0
"""A stretch is counted as a whole for this long: the arrivals need some seconds to show what a stall lost."""

_MOST_SAMPLES = 20_000
"""More are not counted again twice a second: the recorder has other things to do."""

_COUNTS = (
    "samples", "bad_checksum", "bad_frames", "ignored_frames", "lost", "gaps", "uncounted", "resets", "clock_jumps",
    "duplicates", "saturated", "overloads", "dropped_bytes",
)  # fmt: skip


@dataclass(frozen=True)
class Window:
    """What the last stretch of a stream held.

    Attributes
    ----------
    rate_hz : float
        Samples per second of the host's clock; NaN before the second window.
    latest : dict of str to float
        Last value of each measured column, in SI or counts; empty when nothing decoded.
    overloaded : bool
        The rated capacity was exceeded in this window.
    """

    rate_hz: float
    latest: dict[str, float]
    overloaded: bool


class LiveHealth:
    """Counts of one stream, brought up to date about twice a second.

    What arrived over some seconds is counted again each time, as a whole, and then kept. Every such stretch starts with
    the last whole frame of the one before, so that nothing is missed between them; that frame's own counts are taken
    off again.

    Parameters
    ----------
    description : StreamDescription
    siblings : sequence of StreamDescription
        Other streams whose frames come over the same link.
    """

    def __init__(self, description: StreamDescription, siblings: Sequence[StreamDescription] = ()) -> None:
        self._description = description
        self._siblings = siblings
        self._whole = WholeMessages(description, siblings)
        self._overlap: list[tuple[int, bytes]] = []
        self._stretch: list[tuple[int, bytes]] = []
        self._kept = StreamHealth(description.name)
        self._fed_ns: int | None = None
        self._first_ns: int | None = None
        self.total = StreamHealth(description.name)
        self.window = Window(math.nan, {}, overloaded=False)

    def feed(self, messages: list[tuple[int, bytes]], now_ns: int) -> None:
        """Take what arrived since the last call; an empty message says that the link was reopened."""
        self._stretch += self._whole.take(messages)
        before = decode(self._overlap, self._description, siblings=self._siblings).health
        decoded = decode(self._overlap + self._stretch, self._description, siblings=self._siblings)
        health, former = decoded.health, self.total
        total = {
            name: getattr(self._kept, name) + getattr(health, name) - getattr(before, name)
            for name in _COUNTS
        }
        if messages and self._first_ns is None:
            self._first_ns = messages[0][0]
        last_ns = messages[-1][0] if messages else None
        duration_s = self.total.duration_s
        if last_ns is not None and self._first_ns is not None:
            duration_s = (last_ns - self._first_ns) * 1e-9
        peaks = [peak for peak in (self.total.peak_force_n, health.peak_force_n) if not math.isnan(peak)]
        self.total = replace(
            self.total,
            **total,
            wraps={**self.total.wraps, **health.wraps},
            duration_s=duration_s,
            rate_hz=total["samples"] / duration_s if duration_s > 0 else math.nan,
            longest_gap_s=max(self.total.longest_gap_s, health.longest_gap_s),
            peak_force_n=max(peaks, default=math.nan),
        )
        rate = math.nan
        if self._fed_ns is not None and now_ns > self._fed_ns:
            rate = (total["samples"] - former.samples) / ((now_ns - self._fed_ns) * 1e-9)
        self._fed_ns = now_ns
        columns = [name for name in decoded.frame.columns if name not in ("host_s", "device_s", "seq")]
        latest = {name: float(decoded.frame[name].iloc[-1]) for name in columns} if len(decoded.frame) else {}
        self.window = Window(rate, latest, overloaded=total["overloads"] > former.overloads)
        if self._stretch and self._is_told(health):
            self._overlap, self._stretch = self._whole.last_frame(self._stretch), []
            self._kept = self.total

    def _is_told(self, health: StreamHealth) -> bool:
        """Whether the stretch has lasted long enough, and longer where some loss is not yet counted."""
        lasted_s = (self._stretch[-1][0] - self._stretch[0][0]) * 1e-9
        enough_s = _LONGEST_STRETCH_S if health.uncounted else _STRETCH_S
        return lasted_s > enough_s or health.samples > _MOST_SAMPLES
