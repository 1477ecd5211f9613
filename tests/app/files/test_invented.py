"""Who is told that data is invented: by a flag of the rig, also through a replay, never by a word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feltload.acquisition import RecordingWriter, RigDescription, load_stream_description, read_recording
from feltload.app.files.invented import is_invented, with_replays_flagged


def replaying(path) -> RigDescription:
    link = {"type": "replay", "path": str(path)}
    return RigDescription(
        name="bench", streams=(load_stream_description("reference-force", changes={"link": link}),)
    )


def test_a_replay_of_an_invented_recording_is_invented(recordings):
    """What cannot be read is left to the replay, which refuses it."""
    assert is_invented(read_recording(recordings / "lever-row-40kg.mcap"))
    assert with_replays_flagged(replaying(recordings / "lever-row-40kg.mcap")).invented
    assert not with_replays_flagged(replaying(recordings / "no-such.mcap")).invented


@pytest.mark.parametrize("invented", [False, True])
def test_words_decide_nothing(recordings, tmp_path, invented):
    info = read_recording(recordings / "lever-row-40kg.mcap").info
    rig = info.rig.model_copy(update={"name": "invented by us", "invented": invented})
    path = tmp_path / "a.mcap"
    RecordingWriter(path, replace(info, rig=rig, notes="Invented: emulated rig"), start_ns=0).close()
    assert is_invented(read_recording(path)) is invented
    assert with_replays_flagged(replaying(path)).invented is invented
