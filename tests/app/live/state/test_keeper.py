"""The state of a recording from the recorder's events alone, for viewers of unlike pace."""

from __future__ import annotations

import pytest

from feltload.acquisition import RecordingStatus, StreamHealth, StreamStatus
from feltload.app.live.recorder.messages import Ended, Failed, Status
from feltload.app.live.state.keeper import Viewer
from feltload.app.running.marked import Trouble
from feltload.app.running.state import LivePhase
from played import Played


@pytest.fixture(scope="module")
def path(recordings):
    return recordings / "lever-row-40kg.mcap"


def test_every_viewer_gets_every_point_once_and_the_newest_state(path):
    played = Played(path, until_s=16.0)
    often, seldom = Viewer(), Viewer()
    seen = {often: {}, seldom: {}}

    def look(viewer):
        update = played.keeper.update(viewer)
        for arm in update.moving.arms:
            curve = seen[viewer].setdefault(arm.pass_number, [])
            assert arm.curve_from in (0, len(curve))
            curve[arm.curve_from :] = arm.curve_q_rad
        return update

    assert look(often).state is not None and look(often).state is None
    for piece, _ in enumerate(played.run(0.1)):
        look(often)
        if piece % 20 == 0:
            look(seldom)
    last = look(seldom)
    assert last.moving.version == played.keeper.state.version
    assert look(seldom).state is None
    for each in played.keeper.state.arms[0].passes[1:]:
        # It was followed to the turn back by 3°, which shows that it had ended.
        curve = [round(q, 5) for q in seen[often][each.number]]
        assert curve[: len(each.q_rad)] == list(each.q_rad)
    assert set(seen[seldom]) <= set(seen[often])


def test_force_and_position_are_not_shown_before_they_are_known(path):
    played = Played(path, until_s=9.0)
    early = None
    for _ in played.run(0.2):
        moving = played.keeper.update(Viewer()).moving
        if moving.arms and moving.elapsed_s < 2.5:
            early = moving.arms[0]
    assert early is not None and early.force_n != early.force_n and early.q_rad != early.q_rad
    (arm,) = played.keeper.state.arms
    assert arm.position_known and arm.zero_n == arm.zero_n
    # What was done before the hinge was found is there too, from the stop on.
    assert arm.passes[0].q_rad[0] == pytest.approx(0.0, abs=0.01)


def test_an_overload_is_seen_at_once(path):
    calm, over = Played(path, until_s=8.0), Played(path, until_s=8.0, capacity_n=200.0)
    for played in (calm, over):
        for _ in played.run(1.0):
            pass
    assert over.overloaded and not calm.overloaded


def test_the_end_and_the_sensors_states_are_kept(path):
    played = Played(path, until_s=4.0)
    for _ in played.run(1.0):
        pass
    stream = StreamStatus("force", True, 80.0, StreamHealth("force", lost=3), {}, False, 0)
    played.keeper.take(Status(RecordingStatus("recording", 4.0, None, (stream,))))
    assert played.keeper.state.phase is LivePhase.RECORDING
    assert [fact.stream for fact in played.keeper.state.facts if fact.figures == {"count": 3}] == ["force"]
    before = played.keeper.state.version
    played.keeper.take(Failed(Trouble("gone", "here", "record again"), kept="file.mcap"))
    assert played.keeper.state.is_over and played.keeper.state.path == "file.mcap"
    assert played.keeper.state.trouble.error().remedy == "record again"
    assert played.keeper.state.version > before
    played.keeper.take(Ended("file.mcap", 4.0))
    assert played.keeper.state.phase is LivePhase.ENDED
