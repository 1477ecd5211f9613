"""A recording once more, with pain reported in it."""

from __future__ import annotations

from pathlib import Path

from feltload.acquisition import RecordingWriter, read_recording


def painful_recording(source: Path, path: Path, at: str) -> None:
    """Write what `source` holds, with a mark of pain at a position such as "20.0 deg"."""
    recording = read_recording(source)
    names = [stream.name for stream in recording.info.rig.streams]
    messages = [(host_ns, name, data) for name in names for host_ns, data in recording.messages(name).pairs()]
    origin = recording.origin_ns

    def at_ns(time_s: float) -> int:
        return origin + round(1e9 * time_s)

    with RecordingWriter(path, recording.info, start_ns=origin) as writer:
        for host_ns, name, data in sorted(messages, key=lambda message: message[0]):
            writer.write(name, host_ns, data)
        for mark in recording.marks:
            until_ns = None if mark.until_s is None else at_ns(mark.until_s)
            writer.mark(mark.kind, at_ns(mark.start_s), mark.text, until_ns=until_ns)
        writer.mark("pain", messages[-1][0], at)
