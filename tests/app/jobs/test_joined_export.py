"""Which joined tables an export writes: of one arm, of both, of a sensor alone, of an arm that never moved."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import (
    Recording,
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    StreamDescription,
    read_recording,
)
from feltload.app.cli import main
from feltload.app.jobs.exporting.joined import joined_names

AXES = [
    *({"name": f"gyro_{axis}", "type": "f32", "unit": "rad/s"} for axis in "xyz"),
    *({"name": f"accel_{axis}", "type": "f32", "unit": "m/s2"} for axis in "xyz"),
]


def stream(name: str, kind: str, side: str | None = None) -> StreamDescription:
    fields = [{"name": "force", "type": "f32", "unit": "N"}] if kind == "force" else AXES
    return StreamDescription(
        name=name, kind=kind, side=side, framing="notification", rate_hz=50.0, fields=fields
    )


def names(*streams: StreamDescription) -> list[str]:
    info = RecordingInfo(load_kg=40.0, rig=RigDescription(streams=streams))
    return joined_names(Recording(info, {}), "csv")


def test_one_table_for_each_arm_that_has_both_sensors():
    assert names(stream("f", "force"), stream("i", "inertial")) == ["joined.csv"]
    assert names(stream("f", "force", "left"), stream("i", "inertial", "left")) == ["joined.csv"]
    both = [
        stream(f"{kind}-{side}", kind, side) for kind in ("force", "inertial") for side in ("left", "right")
    ]
    assert names(*both) == ["joined-left.csv", "joined-right.csv"]
    assert names(*both[:3]) == ["joined-left.csv"]
    assert names(stream("f", "force")) == names(stream("i", "inertial")) == []


@pytest.fixture
def still(tmp_path: Path) -> Path:
    info = RecordingInfo(
        load_kg=40.0, rig=RigDescription(streams=(stream("force", "force"), stream("inertial", "inertial")))
    )
    rng = np.random.default_rng(1)
    with RecordingWriter(tmp_path / "still.mcap", info) as writer:
        for k in range(500):
            noise = rng.normal(0.0, 0.01, 7)
            writer.write("force", k * 20_000_000, struct.pack("<f", noise[0]))
            axes = noise[1:] + [0.0, 0.0, 0.0, 0.0, 9.81, 0.0]
            writer.write("inertial", k * 20_000_000 + 1_000_000, struct.pack("<6f", *axes))
    return tmp_path / "still.mcap"


def test_an_arm_that_never_moved_gives_its_streams_and_says_why_there_is_no_table(still, tmp_path, capsys):
    assert main(["export", str(still), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr()
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {"force.csv", "inertial.csv", "marks.csv", "recording.json"}
    assert "no table joined" in said.err and "hardly turned" in said.err
    assert len(read_recording(still).stream("force")) == 500
