"""Single wild samples of the gyroscope are bridged and counted; knocks and quick motion are left alone."""

import numpy as np
import pytest

from feltload.emulator import Person, scenario, simulate
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.outliers import wild_samples


def arm(rate_hz=100.0, seconds=40.0, seed=0, knock=None):
    """Times, gyro, accelerometer and rotation of a lever along x, turning about z, the sensor 0.25 m out.

    `knock(t)` adds to the rate; the accelerometer feels it.
    """
    rng = np.random.default_rng(seed)
    fine = np.arange(0.0, seconds, 1.0 / (rate_hz * 20))
    after = np.maximum(fine - 3.0, 0.0)
    rate = 0.6 * np.pi / 2.0 * np.sin(np.pi / 2.0 * after)
    if knock is not None:
        rate = rate + knock(fine)
    q = np.cumsum(rate) / (rate_hz * 20)
    along = np.gradient(rate, fine)
    zero = np.zeros_like(q)
    gyro = np.column_stack([zero, zero, rate])
    accel = 9.81 * np.column_stack([np.sin(q + 0.3), np.cos(q + 0.3), zero])
    accel += np.column_stack([-0.25 * rate**2, 0.25 * along, zero])
    pick = slice(None, None, 20)
    shape = gyro[pick].shape
    return (
        fine[pick],
        gyro[pick] + rng.normal(0.0, 1.5e-3, shape) + 0.005,
        accel[pick] + rng.normal(0.0, 0.02, shape),
        q[pick],
    )


def rms_deg(motion, times, q):
    return np.degrees(np.sqrt(np.mean((motion.q_rad - np.interp(motion.time_s, times, q)) ** 2)))


@pytest.mark.parametrize("size_rad_s", [1.0, 5.0, 35.0])
def test_wild_samples_are_bridged_counted_and_do_no_harm(size_rad_s):
    times, gyro, accel, q = arm()
    clean = rms_deg(estimate_hinge(times, gyro, accel), times, q)
    rng = np.random.default_rng(1)
    at = 60 + 120 * np.arange(30) + rng.integers(-20, 20, 30)
    way = rng.normal(size=(30, 3))
    spiked = gyro.copy()
    spiked[at] += size_rad_s * way / np.linalg.norm(way, axis=1)[:, None]
    found = estimate_hinge(times, spiked, accel)
    assert rms_deg(found, times, q) < clean + 0.01
    (wild,) = found.warnings
    assert (wild.kind, wild.figures["count"]) == (HingeFact.WILD_SAMPLES, 30)
    assert wild.span_s[0] == times[at[0]]


@pytest.mark.parametrize(("count", "wild"), [(1, True), (2, True), (3, False)])
def test_two_samples_side_by_side_are_bridged_and_three_are_not(count, wild):
    times, gyro, accel, _ = arm(seconds=6.0)
    gyro[200 : 200 + count] += np.array([0.0, 3.0, 4.0])
    found = np.flatnonzero(wild_samples(times, gyro, accel, 100.0)).tolist()
    assert found == ([*range(200, 200 + count)] if wild else [])


@pytest.mark.parametrize("rate_hz", [50.0, 100.0, 833.0])
def test_pairs_whole_frames_and_the_first_sample(rate_hz):
    times, gyro, accel, q = arm(rate_hz)
    clean = rms_deg(estimate_hinge(times, gyro, accel), times, q)
    pairs = (np.array([7.1, 12.3, 21.7]) * rate_hz).astype(int)
    whole = int(30.0 * rate_hz)
    spiked, felt = gyro.copy(), accel.copy()
    for at in (*pairs, *(pairs + 1)):
        spiked[at] = [17.0, -17.0, 12.0]
    spiked[whole], felt[whole] = 34.9, -156.9
    wild = wild_samples(times, spiked, felt, rate_hz)
    assert sorted(np.flatnonzero(wild)) == sorted([*pairs, *(pairs + 1), whole])
    assert rms_deg(estimate_hinge(times, spiked, felt), times, q) < clean + 0.02


def test_a_disturbed_stretch_is_unknown_rotation():
    times, gyro, accel, q = arm(seed=5)
    rng = np.random.default_rng(2)
    spiked = gyro.copy()
    for at in (900, 1700, 2500, 3333):
        spiked[at : at + 5] = rng.normal(0.0, 20.0, (5, 3))
    found = estimate_hinge(times, spiked, accel)
    error = np.degrees(np.abs(found.q_rad - np.interp(found.time_s, times, q)))
    away = np.min(np.abs(times[:, None] - times[[902, 1702, 2502, 3335]]), axis=1) > 1.0
    assert np.sqrt(np.mean(error[away] ** 2)) < 0.2
    assert np.mean(error < 1.96 * np.degrees(found.u_q_rad)) > 0.9
    assert any(fact.kind == HingeFact.JUMPS_ABOUT for fact in found.warnings)


def ring(start_s, size, ring_hz, decay_s):
    def rate(t):
        after = t - start_s
        shape = np.sin(2 * np.pi * ring_hz * after) * np.exp(-np.maximum(after, 0.0) / decay_s)
        return np.where(after > 0.0, size * shape, 0.0)

    return rate


@pytest.mark.parametrize("rate_hz", [50.0, 100.0, 833.0])
@pytest.mark.parametrize(("ring_hz", "decay_s"), [(12.0, 0.05), (25.0, 0.03), (40.0, 0.02), (90.0, 0.02)])
def test_a_ringing_knock_is_left_alone(rate_hz, ring_hz, decay_s):
    flagged = 0
    for seed in range(12):
        blow = ring(10.0 + 0.0013 * seed, 6.0, min(ring_hz, 0.4 * rate_hz), decay_s)
        times, gyro, accel, _ = arm(rate_hz, 20.0, seed, blow)
        flagged += int(wild_samples(times, gyro, accel, rate_hz).sum())
    assert flagged == 0


@pytest.mark.parametrize("rate_hz", [25.0, 50.0, 100.0, 833.0])
def test_a_stop_hit_and_a_quick_jerk_are_left_alone(rate_hz):
    def stop(t):
        return np.where((t > 10.0) & (t < 10.4), 3.0 * np.sin(np.pi * (t - 10.0) / 0.8), 0.0)

    def jerk(t):
        return np.where(np.abs(t - 10.0) < 0.06, 2.0 * np.cos(np.pi * (t - 10.0) / 0.12) ** 2, 0.0)

    for motion in (stop, jerk):
        for seed in range(8):
            times, gyro, accel, _ = arm(rate_hz, 20.0, seed, lambda t, m=motion, s=seed: m(t - 0.007 * s))
            assert not wild_samples(times, gyro, accel, rate_hz).any()


@pytest.mark.parametrize("sensors", ["ordinary", "cheap", "fast"])
def test_no_sample_of_an_emulated_session_with_knocks_is_taken_for_wild(sensors):
    person = Person(handle_knocks=3, knock_share=0.6, letgo_share=0.3)
    run = simulate(scenario("lever-row", sensors=sensors, tempo="brisk", person=person), seed=4)
    stream = run.inertial
    gyro = stream[[f"gyro_{axis}_rad_s" for axis in "xyz"]].to_numpy()
    accel = stream[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy()
    times = stream["device_s"].to_numpy()
    assert not wild_samples(times, gyro, accel, 1.0 / np.median(np.diff(times))).any()
