"""The recorder over real ptys: what was sent is in the file, with its marks."""

from __future__ import annotations

import asyncio
from pathlib import Path

import numpy as np
import pytest

from board_rig import PATIENCE, Rig
from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recorder.recorder import Recorder
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.status import RecordingStatus


def test_everything_that_was_sent_is_in_the_file(rig: Rig, tmp_path: Path) -> None:
    rig.start()
    seen: list[RecordingStatus] = []
    summary = rig.record(tmp_path / "a.mcap", on_status=seen.append)
    assert summary.fault is None
    assert summary.facts() == ()
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage == ()
    for name in ("force", "inertial"):
        samples = recording.stream(name, raw=True)
        assert len(samples) == pytest.approx(250, abs=25)
        assert (np.diff(samples["seq"]) == 1).all()
        assert recording.health[name].lost == 0
        # What the recorder counted while it ran is what the file decodes to.
        counted = next(health for health in summary.streams if health.name == name)
        assert counted.samples == len(samples)
        assert counted.bad_checksum == counted.bad_frames == counted.lost == 0
    assert (recording.stream("force", raw=True)["force_counts"].diff().dropna() == 1).all()
    (tare,) = recording.marks
    assert tare.kind == "tare"
    assert tare.start_s == pytest.approx(0.0, abs=1e-6)
    assert tare.until_s == pytest.approx(0.2)
    assert [status.phase for status in seen[:2]] == ["connecting", "tare"]
    last = seen[-1]
    assert last.phase == "recording"
    assert [stream.connected for stream in last.streams] == [True, True]
    assert last.streams[0].rate_hz == pytest.approx(250, rel=0.2)
    assert last.streams[0].latest["force_counts"] > 1000


def test_marks_while_recording(rig: Rig, tmp_path: Path) -> None:
    rig.start()

    async def run() -> None:
        recorder = Recorder(
            rig.description,
            RecordingInfo(load_kg=20.0, rig=rig.description),
            tmp_path / "a.mcap",
            tare_s=0.0,
            patience=PATIENCE,
        )
        asyncio.get_running_loop().call_later(0.3, recorder.mark, "knock")
        asyncio.get_running_loop().call_later(0.4, recorder.mark, "note", "seat at 4")
        asyncio.get_running_loop().call_later(0.6, recorder.stop)
        await recorder.run()

    asyncio.run(run())
    marks = read_recording(tmp_path / "a.mcap").marks
    assert [(mark.kind, mark.text) for mark in marks] == [("knock", ""), ("note", "seat at 4")]
    assert marks[1].start_s - marks[0].start_s == pytest.approx(0.1, abs=0.05)


def test_existing_file_is_kept(rig: Rig, tmp_path: Path) -> None:
    path = tmp_path / "a.mcap"
    path.write_bytes(b"precious")
    rig.start()
    with pytest.raises(RecordingError):
        rig.record(path)
    assert path.read_bytes() == b"precious"
