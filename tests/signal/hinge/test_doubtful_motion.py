"""Brief rests, readings sent several times, and parts that do not turn about one fixed hinge."""

import numpy as np
import pytest

from feltload.core import runs_of_true
from feltload.signal.errors import MotionError
from feltload.signal.hinge.axis import still_samples
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact

RATE_HZ = 90.0


def brisk(rest_s=(20.0, 21.2), *, seconds=40.0, across=0.0, pivot_m_s2=0.0, seed=2):
    """Repetitions of 1.3 s, one brief rest in the middle; true rotation, rotation across, a pivot that is shaken."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, seconds, 1.0 / RATE_HZ)
    begun, ended = rest_s
    phase = np.where(t < begun, t - begun, np.maximum(t - ended, 0.0)) * 2.0 * np.pi / 1.3
    q = 0.6 * (1.0 - np.cos(phase))
    w = np.gradient(q, t)
    zero = np.zeros(len(t))
    gyro = np.stack([across * w * np.sin(0.37 * t), across * w * np.cos(0.61 * t), w], axis=1)
    gyro += 0.012 + rng.normal(0.0, 1.5e-3, gyro.shape)
    accel = 9.81 * np.stack([np.cos(q), -np.sin(q), zero], axis=1) + rng.normal(0.0, 0.03, gyro.shape)
    shaken = pivot_m_s2 * np.cos(q)[:, None] * np.array([0.3, 1.0, 0.1])
    return t, gyro, accel + shaken, q


@pytest.mark.parametrize("lasts_s", [1.0, 2.0])
def test_a_brief_rest_among_brisk_repetitions_is_found(lasts_s):
    time_s, gyro, _, _ = brisk((20.0, 20.0 + lasts_s))
    (found,) = runs_of_true(still_samples(gyro, RATE_HZ))
    start_s, stop_s = time_s[found[0]], time_s[found[1] - 1]
    assert 19.9 < start_s < 20.5 and 19.5 + lasts_s < stop_s < 20.1 + lasts_s


def test_steady_turning_is_no_rest():
    t = np.arange(0.0, 60.0, 0.01)
    rate = np.where((t // 4.0) % 2 == 0, 0.9, -0.9)
    gyro = np.outer(rate, [0.0, 0.0, 1.0]) + np.random.default_rng(4).normal(0.0, 1e-3, (len(t), 3))
    assert not np.any(still_samples(gyro, 100.0))


def test_readings_that_are_sent_several_times_are_no_limit_and_no_gap():
    time_s, gyro, accel, q = brisk()
    again = np.repeat(np.arange(len(time_s)), 4)
    times = np.arange(len(again)) / (4.0 * RATE_HZ)
    # One top, four times over, would look like an end of the range.
    assert np.max(gyro[:, 2]) > 2.5
    motion = estimate_hinge(times, gyro[again], accel[again])
    (said,) = [fact for fact in motion.warnings if fact.kind == HingeFact.REPEATED_READINGS]
    assert said.figures["count"] == pytest.approx(3 * len(time_s), rel=0.02)
    assert said.figure("rate_hz") == pytest.approx(RATE_HZ, rel=0.02)
    others = {fact.kind for fact in motion.warnings} - {HingeFact.REPEATED_READINGS}
    assert not others & {HingeFact.AT_LIMIT, HingeFact.STUCK_READING, HingeFact.HOLE}
    # It begins in motion: which way is positive nothing says.
    true = np.interp(motion.time_s, time_s, q)
    assert np.degrees(min(np.std(motion.q_rad - true), np.std(motion.q_rad + true))) < 0.3


@pytest.mark.parametrize(("across", "pivot_m_s2"), [(0.12, 8.0), (0.3, 8.0)])
def test_a_part_without_one_fixed_hinge_is_told_so_before_anything_about_scale_or_signs(across, pivot_m_s2):
    time_s, gyro, accel, _ = brisk(across=across, pivot_m_s2=pivot_m_s2)
    try:
        warnings = estimate_hinge(time_s, gyro, accel).warnings
    except MotionError as error:
        assert "does not turn about one fixed hinge" in str(error)
    else:
        kinds = [fact.kind for fact in warnings]
        assert HingeFact.NOT_A_HINGE in kinds and HingeFact.UNUSUAL_SCALE not in kinds


def test_rotation_across_the_axis_widens_the_band_of_the_scale():
    plain, wobbling = (estimate_hinge(*brisk(across=share)[:3]).parameters for share in (0.0, 0.14))
    assert plain.off_axis_share < 0.02 < 0.08 < wobbling.off_axis_share < 0.15
    excess = 0.5 * wobbling.off_axis_share**2
    assert wobbling.u_gyro_scale > np.hypot(excess, 0.5 * plain.u_gyro_scale)
