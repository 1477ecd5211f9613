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
from feltload.signal import BudgetSource, Session, load_results, prepare, recorded_zeros


@pytest.fixture
def sessions(tmp_path, monkeypatch):
    monkeypatch.setenv("FELTLOAD_SESSIONS", str(tmp_path / "sessions"))
    return tmp_path / "sessions"


def test_a_replay_shows_what_the_estimator_finds(recordings, sessions, tmp_path):
    path = recordings / "lever-row-40kg.mcap"

    async def replay():
        live = await LiveSession.start(ReplayRequest(path, speed=20.0))
        try:
            updates = [update async for update in live.follow()]
            made = await live.make_result(tmp_path / "row")
            return updates, live.state, made
        finally:
            await live.close()

    updates, state, made = asyncio.run(replay())
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

    # The estimator beside it comes to the same result as the one afterwards.
    result = load_results(made.directory)
    assert made.report.exists()
    (row,) = result.static_u95_n
    final_share = float(np.mean(row)) / float(np.max(result.static_n))
    assert state.enough.is_enough and state.enough.repetitions == len(result.repetitions) == 5
    assert state.enough.band_share == pytest.approx(final_share, rel=0.3)
    assert state.enough.limit is BudgetSource.FORCE_GAIN and not state.enough.limit_stated
    assessed = {update.state.enough.at_s for update in updates if update.state and update.state.enough}
    assert assessed and max(assessed) == state.enough.at_s

    asked = [update.state.script.moment.ask for update in updates if update.state and update.state.script]
    assert Ask.SLOW in asked and Ask.BRISK in asked
