"""Where the smoother starts: without a rest, with a large bias, late on a clock, on a hinge that stands on end."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.hinge.data import hinge_data
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.hinge.smoother.initial_guess import make_knots
from feltload.signal.noise.densities import InertialNoise
from ramped_arm import record


def restless(seconds):
    """Never still: from one angle to the next within the second that each way takes."""
    turns = [50.0, 5.0, 60.0, 15.0, 40.0, 0.0]
    return [(float(at), turns[at % len(turns)]) for at in range(int(seconds))]


def level(motion, made):
    """How far the angle is off, its mean taken away: without a rest its zero is the end of the travel."""
    off = motion.q_rad - made[3]
    return np.degrees(off - off.mean())


@pytest.mark.parametrize("bias", [0.26, -0.26, 0.05])
@pytest.mark.parametrize("seconds", [16.0, 45.0])
def test_a_bias_is_found_without_any_rest(bias, seconds):
    """A quarter of a radian per second turns the count by 4 radians in a short record and by 12 in a long one."""
    made = record(restless(seconds), seconds=seconds, bias=bias)
    motion = estimate_hinge(made[0] + 1000.0, *made[1:3])
    assert motion.reference_s is None
    assert motion.parameters.gyro_bias_rad_s == pytest.approx(bias, abs=2e-3)
    assert np.abs(level(motion, made)).max() < 0.5


def test_an_upright_hinge_goes_by_its_rests():
    """Gravity tells nothing; for 160 s the bias is what the rests read."""
    lifts = [(at + add, angle) for at in range(3, 155, 8) for add, angle in ((0.0, 50.0), (2.0, 0.0))]
    made = record(lifts, seconds=160.0, upright=True, rate_hz=50.0)
    motion = estimate_hinge(*made[:3])
    assert motion.q_rad == pytest.approx(made[3], abs=np.radians(1.0))
    assert motion.parameters.gravity_in_plane_m_s2 < 0.5


Z = np.array([0.0, 0.0, 1.0])
NOISE = InertialNoise(gyro_density_rad_s_rt_hz=0.001)


def prepared(time_s, rate=0.0):
    time_s = np.asarray(time_s, dtype=float)
    flags = np.zeros(len(time_s), dtype=bool)
    rate = rate + 0.0 * time_s
    samples = InertialSamples(
        time_s, np.outer(rate, Z), np.outer(1.0 + 0.0 * rate, Z), flags, flags, 100.0, ()
    )
    return hinge_data(samples, Z)


def test_knots_are_half_a_second_apart_or_less_and_know_the_rests():
    """3.2 s of samples at 0.02 rad/s: seven steps of 0.457 s. At rest from 1 s to 2 s."""
    time_s = np.arange(321) / 100.0
    still = (time_s >= 1.0) & (time_s < 2.0)
    knots = make_knots(prepared(time_s, 0.02), still, time_s, NOISE)
    assert knots.time_s == pytest.approx(np.linspace(0.0, 3.2, 8))
    assert knots.starts == (0,)
    # A knot holds the samples nearer to it than to others: those at 1.371 s and 1.829 s from 1.143 s to 2 s, the one at
    # 0.914 s the fourteen or fifteen from 1 s on, which are less than half of its share.
    assert knots.still.tolist() == [3, 4]
    assert knots.still_rate[[3, 4]] == pytest.approx([0.02, 0.02])
    # White noise over the seconds that were seen, and 3e-4 rad/s for whether it is a rest: 46 and 40 samples.
    assert knots.still_u[3] == pytest.approx(np.hypot(0.001 / np.sqrt(0.46), 3e-4), rel=0.02)
    assert knots.still_u[4] == pytest.approx(np.hypot(0.001 / np.sqrt(0.40), 3e-4), rel=0.02)
    assert knots.extra_u_rad.tolist() == [0.0] * 7


def test_what_a_gap_leaves_open_falls_on_the_knots_around_it():
    """0.1 s without samples within the third of seven steps, and 0.14 s across the border of the fifth and sixth."""
    time_s = np.arange(321) / 100.0
    kept = ~((time_s > 1.1) & (time_s < 1.2)) & ~((time_s > 2.215) & (time_s < 2.345))
    data = prepared(time_s[kept], 1.0)
    knots = make_knots(data, np.zeros(kept.sum(), dtype=bool), time_s[kept], NOISE)
    (first, second) = (u_rad for _, _, u_rad in data.breaks)
    assert (first, second) == pytest.approx((0.5 * 0.1 / 3.0, 0.5 * 0.14 / 3.0))
    assert knots.extra_u_rad == pytest.approx([0.0, 0.0, first, 0.0, second / 2**0.5, second / 2**0.5, 0.0])


def test_a_hole_lies_between_the_last_knot_of_a_piece_and_the_first_of_the_next():
    time_s = np.concatenate([np.arange(101) / 100.0, 3.0 + np.arange(101) / 100.0])
    data = prepared(time_s, 1.0)
    knots = make_knots(data, np.zeros(202, dtype=bool), time_s, NOISE)
    assert knots.time_s == pytest.approx([0.0, 0.5, 1.0, 3.0, 3.5, 4.0])
    assert knots.starts == (0, 3)
    # At 1 rad/s for 2 s nothing is carried over.
    assert knots.extra_u_rad == pytest.approx([0.0, 0.0, 100.0, 0.0, 0.0])
