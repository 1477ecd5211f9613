"""What is said of a recording's zero and sign, on shipped recordings written again with another scale."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.signal.zero.facts import ZeroFact
from feltload.signal.zero.recorded_zero import recorded_zeros

SHIPPED = Path(__file__).resolve().parents[3] / "recordings"


def written_again(path: Path, *, scale: float = 1.0, counts: bool = False):
    """The bytes of a shipped recording under a rig file of another scale or unit."""
    read = read_recording(SHIPPED / "lever-row-40kg.mcap")
    rig = json.loads(read.info.rig.model_dump_json())
    for field in rig["streams"][0]["fields"]:
        if field["name"] == "force":
            field["scale"] *= scale
            field["unit"] = "counts" if counts else field["unit"]
    info = replace(read.info, rig=RigDescription.model_validate(rig))
    with RecordingWriter(path, info, start_ns=read.origin_ns) as writer:
        for name in ("force", "inertial"):
            messages = read.messages(name)
            for host_ns, start, end in zip(messages.host_ns, messages.starts, messages.ends, strict=True):
                writer.write(name, int(host_ns), messages.data[start:end].tobytes())
        for mark in read.marks:
            start, until = (read.origin_ns + round(1e9 * at) for at in (mark.start_s, mark.until_s))
            writer.mark(mark.kind, start, until_ns=until)
    return read_recording(path)


@pytest.mark.parametrize("name", ["lever-row-20kg", "client-holds", "partner-help-40kg"])
def test_nothing_is_reported_of_a_good_one(name: str) -> None:
    zero = recorded_zeros(read_recording(SHIPPED / f"{name}.mcap"))["force"]
    assert (zero.source, zero.warnings) == ("mark", ())


def test_a_reversed_cell_is_reported(tmp_path: Path) -> None:
    zero = recorded_zeros(written_again(tmp_path / "a.mcap", scale=-1.0))["force"]
    (doubt,) = zero.warnings
    assert doubt.kind == ZeroFact.REVERSED
    assert doubt.figure("share") > 0.9
    assert recorded_zeros(written_again(tmp_path / "b.mcap"))["force"].warnings == ()


def test_counts_are_no_force_yet(tmp_path: Path) -> None:
    assert recorded_zeros(written_again(tmp_path / "a.mcap", counts=True)) == {}
