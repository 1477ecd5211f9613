"""One recording of a machine with two arms, out of a recording of each."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from feltload.acquisition import RecordingWriter, RigDescription, read_recording


def both_arms(left: Path, right: Path, path: Path) -> None:
    """Write what both hold as if it had been recorded at once; load, machine and marks are those of the left one."""
    recordings = {"left": read_recording(left), "right": read_recording(right)}
    streams, messages = [], []
    begun_ns = recordings["left"].origin_ns
    for side, recording in recordings.items():
        for stream in recording.info.rig.streams:
            name = f"{stream.name}-{side}"
            streams.append(stream.model_copy(update={"name": name, "side": side}))
            pairs = recording.messages(stream.name).pairs()
            messages += [(begun_ns + host_ns - recording.origin_ns, name, data) for host_ns, data in pairs]
    first = recordings["left"]
    rig = RigDescription(name="two arms (invented)", streams=tuple(streams))
    with RecordingWriter(path, replace(first.info, rig=rig, certificates={}), start_ns=begun_ns) as writer:
        for host_ns, name, data in sorted(messages, key=lambda message: message[0]):
            writer.write(name, host_ns, data)
        for mark in first.marks:
            until_ns = None if mark.until_s is None else begun_ns + round(1e9 * mark.until_s)
            writer.mark(mark.kind, begun_ns + round(1e9 * mark.start_s), mark.text, until_ns=until_ns)
