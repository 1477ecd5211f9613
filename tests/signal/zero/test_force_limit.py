from pathlib import Path

import numpy as np

from feltload.acquisition import read_recording
from feltload.signal.session import Session
from feltload.signal.zero.facts import ZeroFact
from feltload.signal.zero.force_limit import at_limit

TIME_S = np.arange(0, 30, 0.01)
FORCE_N = 120 - 90 * np.cos(2 * np.pi * TIME_S / 4) + np.random.default_rng(1).normal(0, 0.5, TIME_S.size)


def test_a_force_cut_off_is_marked_where_it_is():
    cut = np.clip(FORCE_N, None, 180.0)
    assert np.array_equal(at_limit(cut), FORCE_N >= 180.0)
    assert np.array_equal(at_limit(-cut), FORCE_N >= 180.0)
    assert np.array_equal(at_limit(np.where(TIME_S < 1, np.nan, cut)), (FORCE_N >= 180.0) & (TIME_S >= 1))


def test_no_other_force_is():
    """Neither a whole one, nor one of coarse steps, held at the top, nor a resting one."""
    for force in (FORCE_N, np.round(FORCE_N), np.round(FORCE_N / 0.5) * 0.5, np.zeros(500)):
        assert not at_limit(force).any()
    held = np.where(
        (TIME_S > 2) & (TIME_S < 5), 210 + np.random.default_rng(2).normal(0, 0.1, TIME_S.size), FORCE_N
    )
    for step in (0.01, 0.1, 1.0):
        assert not at_limit(np.round(held / step) * step).any()


def test_a_session_leaves_them_out_and_says_so(monkeypatch):
    recording = read_recording(Path(__file__).parents[3] / "recordings" / "lever-row-20kg.mcap")
    name = recording.streams_of("force", None)[0]
    whole = recording.stream(name)
    limit = float(whole["force_n"].quantile(0.8))
    streams = {name: whole.assign(force_n=whole["force_n"].clip(upper=limit))}
    read = type(recording).stream
    monkeypatch.setattr(
        type(recording),
        "stream",
        lambda self, key, **how: streams[key] if key in streams else read(self, key, **how),
    )
    session = Session.from_recording(recording)
    assert np.array_equal(session.force["force_n"].isna(), whole["force_n"] >= limit)
    (cut,) = [fact for fact in session.warnings if fact.kind == ZeroFact.AT_LIMIT]
    assert cut.figures["count"] == np.count_nonzero(whole["force_n"] >= limit)
    assert (cut.session, cut.stream) == (session.name, "force")
