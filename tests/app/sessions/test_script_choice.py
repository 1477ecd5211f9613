"""What a script says before a recording about a range that hurts."""

from __future__ import annotations

from feltload.acquisition import RecordingInfo, RigDescription, load_stream_description
from feltload.app.options import PersonOptions
from feltload.app.sessions.script_choice import prepare_script


def test_a_helped_set_without_a_plan_keeps_out_of_what_hurts(recordings):
    info = RecordingInfo(
        load_kg=40.0,
        rig=RigDescription(streams=(load_stream_description("reference-force"),)),
        machine_toml=(recordings / "lever-row.toml").read_text(encoding="utf-8"),
        kind="helped",
    )
    script = prepare_script(info, PersonOptions(painful=["-10:5 deg"]))
    assert "Marked painful: −10° to 5°" in script.lines[0]
    assert not any("painful" in line for line in prepare_script(info, PersonOptions()).lines)
