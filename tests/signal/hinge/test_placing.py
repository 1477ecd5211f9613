"""Pieces of a record after a hole: placed by gravity and the travel of the others, or left out."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact
from ramped_arm import record

LIFTS = [(3.0, 60.0), (5.0, 10.0), (7.0, 60.0), (9.0, 0.0), (11.0, 60.0), (13.0, 0.0)]


def spans(motion, kind):
    return [fact.span_s for fact in motion.warnings if fact.kind == kind]


def test_after_a_hole_gravity_tells_the_angle():
    made = record([*LIFTS, (16.0, 100.0), (19.0, 160.0), (21.0, 100.0)], cut=[(15.0, 18.0)])
    motion = estimate_hinge(*made[:3])
    assert motion.q_rad == pytest.approx(made[3], abs=np.radians(0.3))
    assert spans(motion, HingeFact.HOLE) == [pytest.approx((14.99, 18.01))]
    assert spans(motion, HingeFact.LEFT_OUT_AFTER_HOLE) == []


@pytest.mark.parametrize(("low", "high"), [(210.0, 260.0), (150.0, 250.0)])
def test_a_piece_that_could_lie_a_whole_turn_away_is_left_out(low, high):
    """From 0 to 60 degrees, and behind the hole from 210 to 260 or from -150 to -100: a travel of 260 or of 210.

    From 150 to 250 or from -210 to -110 it is one of 250 or of 270. The arm was on its way when the stream fell silent,
    so that its rates carry nothing.
    """
    made = record([*LIFTS, (15.5, low), (19.0, high), (21.0, low)], cut=[(15.8, 18.0)])
    motion = estimate_hinge(*made[:3])
    assert spans(motion, HingeFact.LEFT_OUT_AFTER_HOLE) == [pytest.approx((18.01, 23.99))]
    assert motion.time_s[-1] == pytest.approx(15.79)
    assert motion.q_rad == pytest.approx(made[3][: motion.time_s.size], abs=np.radians(0.2))


@pytest.mark.parametrize("hole", [(16.0, 16.2), (15.0, 18.0)])
def test_on_an_upright_hinge_nothing_tells_the_angle_after_a_hole(hole):
    """Over 0.2 s the rates of a rest leave 0.1 rad/s x 0.2 s / 3 open, 0.38 degrees: more than the 0.3 of a place."""
    motion = estimate_hinge(*record([*LIFTS, (19.0, 50.0), (21.0, 0.0)], cut=[hole], upright=True)[:3])
    assert spans(motion, HingeFact.LEFT_OUT_AFTER_HOLE) == [pytest.approx((hole[1] + 0.01, 23.99))]
    assert motion.time_s[-1] == pytest.approx(hole[0] - 0.01)


def test_what_is_carried_over_a_short_hole_keeps_its_turn():
    """A bias of 0.1 rad/s has turned the sensor's own count by almost a turn at a hole of 0.2 s after 55 s."""
    lifts = [(start + add, angle) for add in range(0, 60, 12) for start, angle in LIFTS]
    made = record(lifts, seconds=66.0, cut=[(50.9, 51.1)], bias=0.1)
    motion = estimate_hinge(*made[:3])
    assert motion.q_rad == pytest.approx(made[3], abs=np.radians(0.5))
    assert spans(motion, HingeFact.LEFT_OUT_AFTER_HOLE) == []


def test_no_rest_reaches_across_a_hole():
    """The arm rests before and after, but at another place: the first sample after the hole is no rest."""
    made = record([*LIFTS, (16.0, 30.0)], cut=[(15.9, 17.1)], seconds=22.0)
    motion = estimate_hinge(*made[:3])
    after = int(np.searchsorted(motion.time_s, 17.0))
    assert motion.still[after - 5 : after + 6].tolist() == [True] * 5 + [False] + [True] * 5
    assert motion.q_rad == pytest.approx(made[3], abs=np.radians(0.3))
