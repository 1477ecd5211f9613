"""The script beside the recorder: marks, taps, overloads, counts; and what is filled in, asked for and sent."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from feltload.acquisition import (
    RecordingInfo,
    RecordingStatus,
    RigDescription,
    StreamHealth,
    StreamStatus,
    load_stream_description,
)
from feltload.app.errors import OutputExistsError
from feltload.app.live.recorder.guidance import OVERLOAD_NOTE, Guidance
from feltload.app.live.recorder.messages import SetMark, command_line, parse_command
from feltload.app.live.recorder.request import (
    RecordingRequest,
    ReplayRequest,
    parse_request,
    request_json,
)
from feltload.app.live.sources.filled_in import filled_in_request, with_other_load
from feltload.app.options import PersonOptions
from feltload.app.scripts.holds import HoldScript
from feltload.app.scripts.moment import Ask
from feltload.app.scripts.repetitions import RepetitionScript
from feltload.coaching import plan_holds
from feltload.core import InputError


def status(elapsed_s, *, overloaded=False):
    cell = StreamStatus("force", True, 80.0, StreamHealth("force"), {"force_n": 1.0}, overloaded, 0)
    return RecordingStatus("recording", elapsed_s, None, (cell,))


def test_an_overload_is_noted_once_and_pain_outweighs_it():
    notes = []
    guidance = Guidance(HoldScript(plan_holds(-0.5, 0.4), -0.5), notes.append)
    guidance.follow(status(3.0))
    guidance.go_on()
    guidance.follow(status(3.5, overloaded=True))
    state = guidance.follow(status(4.0, overloaded=True))
    assert state.moment.ask is Ask.OVERLOAD and state.moment.goes_on
    assert notes == [OVERLOAD_NOTE]
    held = guidance.position
    guidance.marked("pain", None)
    assert guidance.state.moment.ask is Ask.PAIN and guidance.position == held
    guidance.overload()
    assert notes == [OVERLOAD_NOTE]


def test_who_counts_every_sample_counts_better():
    guidance = Guidance(RepetitionScript(), lambda text: None)
    guidance._swing.widest_deg = 60.0
    for counted in range(1, 7):
        guidance.counted(counted)
        state = guidance.follow(status(10.0 + counted))
    assert state.moment.ask is Ask.REST_AFTER
    guidance.marked("zero-after", 3.0)
    assert guidance.follow(status(18.0)).moment.left_s == pytest.approx(1.0, abs=1e-6)
    assert guidance.follow(status(20.0)).moment.ask is Ask.DONE


def test_requests_cross_whole():
    rig = RigDescription(streams=(load_stream_description("reference-force"),))
    info = RecordingInfo(40.12, rig, load_u_kg=0.02, files={"a.csv": b"\x00\xff"}, kind="holds")
    request = RecordingRequest(
        info, Path("a.mcap"), person=PersonOptions(result=Path("r"), painful=["1:2 deg"])
    )
    assert parse_request(request_json(request)) == request
    replay = ReplayRequest(Path("b.mcap"), 4.0)
    assert parse_request(request_json(replay)) == replay


@pytest.mark.parametrize(
    "line",
    [b"", b"{}", b"null", b'{"type": "format-disk"}', b'{"type": "mark", "kind": "gap"}', b"\xff\n",
     command_line(SetMark("note", "x" * 2000)).replace(b"x" * 2000, b"x" * 2001)],
)  # fmt: skip
def test_what_is_no_command_is_passed_over(line):
    assert parse_command(line) is None


def test_what_is_filled_in_is_checked_before_any_sensor_is_opened(recordings, tmp_path):
    rig = RigDescription(streams=(load_stream_description("reference-force"),))
    filled = {"rig": rig, "machine_toml": (recordings / "lever-row.toml").read_text(encoding="utf-8")}
    request, prepared = filled_in_request(**filled, load="88 lb", out=tmp_path / "a.mcap")
    assert request.info.load_kg == pytest.approx(39.916, abs=0.001) and request.info.load_stated == "88 lb"
    assert isinstance(prepared.script, RepetitionScript)
    again = with_other_load(request, "60 kg", tmp_path / "b.mcap")
    assert again == replace(
        request, info=replace(request.info, load_kg=60.0, load_u_kg=again.info.load_u_kg, load_stated="60 kg"),
        out=tmp_path / "b.mcap",
    )  # fmt: skip
    (tmp_path / "b.mcap").write_bytes(b"")
    with pytest.raises(OutputExistsError):
        with_other_load(request, "60 kg", tmp_path / "b.mcap")
    with pytest.raises(InputError, match="load"):
        filled_in_request(**filled, load="heavy", out=tmp_path / "c.mcap")
