"""The streaming twin on an arm that moves as written: pushes of any size, late and wild samples, half a turn away."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.errors import MotionError
from feltload.signal.hinge.stream import HingeStream
from ramped_arm import record

LIFTS = [(3.0, 60.0), (5.0, 10.0), (7.0, 60.0), (9.0, 0.0), (11.0, 60.0), (13.0, 0.0)]


def streamed(made, sizes, **settings):
    """Times, rotation and rate of all pushes, and the last push."""
    stream = HingeStream(**settings)
    parts, at = [], 0
    for size in sizes:
        parts.append(stream.push(*(column[at : at + size] for column in made[:3])))
        at += size
    columns = [
        np.concatenate([getattr(part, name) for part in parts]) for name in ("time_s", "q_rad", "rate_rad_s")
    ]
    return *columns, parts[-1]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_live_angle_is_the_true_one(way):
    """In pushes of one to 37 samples; known once the arm has turned and been solved, every two seconds."""
    made = record(LIFTS, way=way, seconds=16.0)
    rng = np.random.default_rng(2)
    sizes = rng.integers(1, 38, 200)
    sizes = sizes[np.cumsum(sizes) <= 1600]
    sizes = [*sizes, 1600 - sizes.sum()]
    time_s, q, rate, last = streamed(made, sizes)
    assert time_s == pytest.approx(made[0])
    known = np.isfinite(q)
    assert not known[time_s < 3.0].any() and known[time_s > 6.1].all()
    late = time_s > 8.1
    assert q[late] == pytest.approx(way * made[3][late], abs=np.radians(0.5))
    truth = np.gradient(way * made[3], made[0])
    assert rate[late] == pytest.approx(truth[late], abs=0.03)
    assert not last.settled and last.warnings == ()
    assert (last.u_q_rad > 0.0).all() and (last.u_q_rad < np.radians(1.0)).all()


@pytest.mark.parametrize(("reach", "enough"), [(10.0, False), (14.0, True)])
def test_the_angle_is_known_once_the_arm_has_turned_by_twelve_degrees(reach, enough):
    lifts = [(at + add, angle) for at in (3.0, 6.0, 9.0) for add, angle in ((0.0, reach), (1.5, 0.0))]
    time_s, q, _, _ = streamed(record(lifts, seconds=12.0), [50] * 24)
    assert np.isfinite(q[time_s > 8.1]).all() == enough
    assert np.isfinite(q).any() == enough


def test_samples_that_are_not_newer_or_have_no_value_are_left_out():
    made = record(LIFTS, seconds=8.0)
    stream = HingeStream()
    push = lambda *rows: stream.push(*(column[list(rows)] for column in made[:3])).time_s.tolist()  # noqa: E731
    time_s = made[0].tolist()
    assert push(0, 1, 2, 3) == time_s[:4]
    assert push(3, 4, 5) == time_s[4:6]
    assert push(2, 5) == []
    assert push(6, 9, 7, 9, 10) == [time_s[6], time_s[9], time_s[10]]
    made[1][11, 2], made[2][12, 0] = np.nan, np.inf
    assert push(11, 12, 13) == [time_s[13]]
    with pytest.raises(MotionError, match="differ in length"):
        stream.push(made[0][20:22], made[1][20:23], made[2][20:22])


@pytest.mark.parametrize("size_rad_s", [5.0, -20.0])
def test_a_wild_sample_does_not_turn_the_live_arm(size_rad_s):
    """5 rad/s for a hundredth of a second are 2.9 degrees until the next solution; those before tell it from motion."""
    made = record(LIFTS, seconds=12.0)
    made[1][910, 2] += size_rad_s
    time_s, q, _, _ = streamed(made, [8] * 150)
    late = time_s > 8.1
    assert q[late] == pytest.approx(made[3][late], abs=np.radians(0.5))


def test_an_arm_that_stays_more_than_half_a_turn_away_is_followed():
    """Seven seconds are remembered; the arm works between 200 and 250 degrees after its first rest is forgotten."""
    stops = [(3.0, 60.0), (5.0, 120.0), (7.0, 200.0)]
    stops += [(start, to) for at in range(10, 28, 4) for start, to in ((at, 250.0), (at + 2.0, 200.0))]
    made = record(stops, seconds=30.0)
    time_s, q, _, last = streamed(made, [50] * 60, window_s=7.0)
    late = time_s > 8.1
    assert np.degrees(q[late]) == pytest.approx(np.degrees(made[3][late]), abs=3.0)
    assert last.settled
