"""A shipped recording with something else stated about it: another load, machine file, kind or place of the samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from feltload.acquisition import RecordingWriter, read_recording


def restated(
    source: Path,
    out: Path,
    *,
    lost_end: int = 0,
    marks: Sequence[tuple[str, float, str]] = (),
    **stated: Any,
) -> Path:
    """Write `source` again with fields of its `RecordingInfo` changed, and return `out`.

    `marks` (kind, seconds after the start, text) are set beside those that are there. `lost_end` leaves out so many of
    each sensor's last messages, so that the samples are no longer the same.
    """
    recording = read_recording(source)
    start = recording.origin_ns
    with RecordingWriter(out, replace(recording.info, **stated), start_ns=start) as writer:
        for streams in recording.info.rig.channels().values():
            arrivals = recording.messages(streams[0].name)
            data = arrivals.data.tobytes()
            messages = list(zip(arrivals.host_ns, arrivals.starts, arrivals.ends, strict=True))
            for host_ns, first, last in messages[: len(messages) - lost_end]:
                writer.write(streams[0].name, int(host_ns), data[first:last])
        for mark in recording.marks:
            ends = None if mark.until_s is None else start + round(mark.until_s * 1e9)
            writer.mark(mark.kind, start + round(mark.start_s * 1e9), mark.text, until_ns=ends)
        for kind, at_s, text in marks:
            writer.mark(kind, start + round(at_s * 1e9), text)
    return out
