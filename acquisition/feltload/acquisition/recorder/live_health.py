"""Health of a stream while it is being recorded, from window to window."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.health import StreamHealth

_LONGEST_TAIL = 4096
"""Bytes kept of a frame that does not end: more is not a frame."""

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

    Every window starts with the last whole frame of the one before, so that nothing is missed between
    them; that frame's own counts are taken off again.

    Parameters
    ----------
    description : StreamDescription
    siblings : sequence of StreamDescription
        Other streams whose frames come over the same link.
    """

    def __init__(self, description: StreamDescription, siblings: Sequence[StreamDescription] = ()) -> None:
        self._description = description
        self._siblings = siblings
        self._delimiter = {"cobs": b"\x00", "lines": b"\n", "notification": None}[description.framing]
        self._overlap: list[tuple[int, bytes]] = []
        self._tail = b""
        self._fed_ns: int | None = None
        self._first_ns: int | None = None
        self.total = StreamHealth(description.name)
        self.window = Window(math.nan, {}, overloaded=False)

    def feed(self, messages: list[tuple[int, bytes]], now_ns: int) -> None:
        """Take what arrived since the last call; an empty message says that the link was reopened."""
        whole = self._whole(messages)
        before = decode(self._overlap, self._description, siblings=self._siblings).health
        decoded = decode(self._overlap + whole, self._description, siblings=self._siblings)
        health = decoded.health
        counts = {name: getattr(health, name) - getattr(before, name) for name in _COUNTS}
        total = {name: getattr(self.total, name) + counts[name] for name in _COUNTS}
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
            rate = counts["samples"] / ((now_ns - self._fed_ns) * 1e-9)
        self._fed_ns = now_ns
        columns = [name for name in decoded.frame.columns if name not in ("host_s", "device_s", "seq")]
        latest = {name: float(decoded.frame[name].iloc[-1]) for name in columns} if len(decoded.frame) else {}
        self.window = Window(rate, latest, overloaded=counts["overloads"] > 0)
        if whole:
            self._overlap = self._last_frame(whole)

    def _whole(self, messages: list[tuple[int, bytes]]) -> list[tuple[int, bytes]]:
        """Messages up to the last frame end; what follows waits for the next window."""
        if self._delimiter is None or not messages:
            return messages
        ready: list[tuple[int, bytes]] = []
        for host_ns, data in messages:
            if not data:
                self._tail = b""
                ready.append((host_ns, data))
                continue
            joined = self._tail + data
            end = joined.rfind(self._delimiter) + 1
            if end:
                ready.append((host_ns, joined[:end]))
            self._tail = joined[end:][-_LONGEST_TAIL:]
        return ready

    def _last_frame(self, whole: list[tuple[int, bytes]]) -> list[tuple[int, bytes]]:
        host_ns, data = whole[-1]
        if self._delimiter is None or not data:
            return [(host_ns, data)]
        return [(host_ns, data[data.rfind(self._delimiter, 0, -1) + 1 :])]
