"""A recording replayed through the recorder and followed as a page does, compared with what the estimator finds."""

from __future__ import annotations

import asyncio

import numpy as np
import pytest

from feltload.acquisition import read_recording
from feltload.app.live.recorder.request import ReplayRequest
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.state import LivePhase
from feltload.app.scripts.moment import Ask
from feltload.signal import Session, prepare, recorded_zeros


@pytest.fixture
def sessions(tmp_path, monkeypatch):
    monkeypatch.setenv("FELTLOAD_SESSIONS", str(tmp_path / "sessions"))
    return tmp_path / "sessions"


def test_a_replay_shows_what_the_estimator_finds(recordings, sessions):
    path = recordings / "lever-row-40kg.mcap"

    async def replay():
        live = await LiveSession.start(ReplayRequest(path, speed=12.0))
        try:
            updates = [update async for update in live.follow()]
            return updates, live.state
        finally:
            await live.close()

    updates, state = asyncio.run(replay())
    assert updates[0].state is not None
    versions = [update.moving.version for update in updates]
    assert versions == sorted(versions)
    assert state.phase is LivePhase.ENDED and state.replayed
    assert not list(sessions.glob("*.json"))

    recording = read_recording(path)
    session = Session.from_recording(recording)
    aligned, _, _ = prepare(session)
    (arm,) = state.arms
    assert arm.zero_n == pytest.approx(recorded_zeros(recording)["force"].zero_n, abs=0.2)
    assert arm.peak_n == pytest.approx(session.force["force_n"].max(), abs=1.0)
    # The display's position may be off by some tenths of a degree.
    assert arm.coverage.edges_rad[-1] == pytest.approx(aligned.q_rad.max(), abs=np.radians(0.6))
    raising, lowering = ([p for p in arm.passes if p.raising is way] for way in (True, False))
    assert len(raising) == len(lowering) == 5
    middle = len(arm.coverage.raising_slow) // 2
    assert arm.coverage.raising_slow[middle] + arm.coverage.raising_brisk[middle] == 5

    asked = [update.state.script.moment.ask for update in updates if update.state and update.state.script]
    assert Ask.SLOW in asked and Ask.BRISK in asked


def test_the_points_of_a_pass_come_once_to_every_viewer(recordings, sessions):
    async def replay():
        live = await LiveSession.start(ReplayRequest(recordings / "lever-row-40kg.mcap", speed=12.0))

        async def points(rate_hz):
            seen = {}
            async for update in live.follow(rate_hz=rate_hz):
                for arm in update.moving.arms:
                    curve = seen.setdefault(arm.pass_number, [])
                    assert arm.curve_from in (0, len(curve))
                    curve[arm.curve_from :] = arm.curve_q_rad
            return seen

        try:
            return await asyncio.gather(points(60.0), points(5.0)), live.state
        finally:
            await live.close()

    (often, seldom), state = asyncio.run(replay())
    last = state.arms[0].passes[-1]
    # A pass is followed to the turn back by 3°, which shows that it has ended.
    for seen in (often, seldom):
        for number, curve in seen.items():
            whole = [each for each in state.arms[0].passes if each.number == number]
            assert not whole or len(curve) <= len(whole[0].q_rad) + 60
    assert last.number in often
