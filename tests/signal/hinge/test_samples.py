"""Which inertial samples are taken, written down one by one."""

import numpy as np
import pytest

from feltload.signal.errors import MotionError
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.samples import InertialSamples, clean_samples, without_fragments


def stream(count=400, rate_hz=100.0, reach=1.0):
    """A swing of one second about z, with fine noise so that nothing repeats itself."""
    rng = np.random.default_rng(1)
    time_s = np.arange(count) / rate_hz
    gyro = 1e-4 * rng.standard_normal((count, 3))
    gyro[:, 2] += reach * np.sin(2.0 * np.pi * time_s)
    accel = 1e-3 * rng.standard_normal((count, 3)) + np.array([0.0, 9.81, 0.0])
    return time_s, gyro, accel


def facts(samples):
    return {fact.kind: fact for fact in samples.warnings}


def test_sound_samples_are_all_taken():
    time_s, gyro, accel = stream()
    samples = clean_samples(time_s, gyro, accel)
    assert samples.time_s.tolist() == time_s.tolist()
    assert np.array_equal(samples.gyro, gyro) and np.array_equal(samples.accel, accel)
    assert not samples.gyro_clipped.any() and not samples.accel_clipped.any()
    assert samples.rate_hz == pytest.approx(100.0)
    assert samples.warnings == ()


@pytest.mark.parametrize("where", ["time", "gyro", "accel"])
@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_what_has_no_value_is_left_out_and_counted(where, value):
    time_s, gyro, accel = stream()
    for row in (3, 250):
        {"time": time_s, "gyro": gyro[:, 1], "accel": accel[:, 2]}[where][row] = value
    samples = clean_samples(time_s, gyro, accel)
    assert len(samples.time_s) == 398
    assert np.isfinite(samples.gyro).all() and np.isfinite(samples.accel).all()
    assert facts(samples)[HingeFact.NO_VALUE].figure("count") == 2


def test_times_that_do_not_rise_are_left_out():
    """A repeated time, and two that lie before the newest one."""
    time_s, gyro, accel = stream()
    time_s[10] = time_s[9]
    time_s[[51, 52]] = time_s[[49, 50]]
    samples = clean_samples(time_s, gyro, accel)
    assert samples.time_s.tolist() == np.delete(time_s, [10, 51, 52]).tolist()
    assert np.array_equal(samples.gyro, np.delete(gyro, [10, 51, 52], axis=0))
    assert facts(samples)[HingeFact.REPEATED_TIMES].figure("count") == 3


@pytest.mark.parametrize(("repeated", "stuck"), [(3, 0), (4, 4), (10, 10)])
def test_a_turning_sensor_that_repeats_its_reading_four_times_is_stuck(repeated, stuck):
    time_s, gyro, accel = stream()
    gyro[120 : 121 + repeated], accel[120 : 121 + repeated] = gyro[120], accel[120]
    samples = clean_samples(time_s, gyro, accel)
    assert len(samples.time_s) == 400 - stuck
    assert (HingeFact.STUCK_READING in facts(samples)) == bool(stuck)
    if stuck:
        fact = facts(samples)[HingeFact.STUCK_READING]
        assert fact.figure("count") == stuck
        assert fact.span_s == pytest.approx((1.21, 1.20 + 0.01 * stuck))


def test_a_resting_sensor_or_one_number_may_repeat_itself():
    time_s, gyro, accel = stream()
    gyro[200:260], accel[200:260] = gyro[200], accel[200]
    gyro[200:260, 2] = 0.0
    # Away from rest, five of the six numbers.
    gyro[120:130], accel[120:130, :2] = gyro[120], accel[120, :2]
    assert HingeFact.STUCK_READING not in facts(clean_samples(time_s, gyro, accel))


@pytest.mark.parametrize(("top", "times", "clipped"), [(2.11, 4, True), (2.11, 3, False), (2.09, 4, False)])
def test_a_gyroscope_is_at_its_limit_where_it_stays_at_an_extreme(top, times, clipped):
    """No range ends below 2.1 rad/s; four samples at one value are no accident."""
    time_s, gyro, accel = stream(reach=2.0)
    for sign in (1.0, -1.0):
        made = gyro.copy()
        made[23 : 23 + times, 2] = top
        samples = clean_samples(time_s, sign * made, accel)
        assert np.flatnonzero(samples.gyro_clipped).tolist() == ([*range(23, 23 + times)] if clipped else [])
        assert (HingeFact.AT_LIMIT in facts(samples)) == clipped
        if clipped:
            fact = facts(samples)[HingeFact.AT_LIMIT]
            assert dict(fact.figures) == {"sensor": "gyroscope", "count": times}


@pytest.mark.parametrize(("top", "times", "clipped"), [(18.6, 2, True), (18.6, 1, False), (18.4, 2, False)])
def test_an_accelerometer_is_at_its_limit_where_it_is_so_twice(top, times, clipped):
    time_s, gyro, accel = stream()
    accel[[30, 330][:times], 0] = top
    samples = clean_samples(time_s, gyro, accel)
    assert np.flatnonzero(samples.accel_clipped).tolist() == ([30, 330] if clipped else [])
    if clipped:
        assert facts(samples)[HingeFact.AT_LIMIT].figures["sensor"] == "accelerometer"


@pytest.mark.parametrize(("tops", "length", "clipped"), [(3, 5, True), (2, 8, False), (4, 4, False)])
def test_a_limit_set_lower_shows_as_flat_tops(tops, length, clipped):
    """Three tops of five samples at one value, below any sensor's range, among finer steps."""
    time_s, gyro, accel = stream(600)
    for top in range(tops):
        gyro[25 + 100 * top : 25 + 100 * top + length, 2] = 1.05
    samples = clean_samples(time_s, gyro, accel)
    assert np.count_nonzero(samples.gyro_clipped) == (tops * length if clipped else 0)


@pytest.mark.parametrize(("count", "enough"), [(200, False), (201, True)])
def test_two_seconds_are_enough(count, enough):
    if enough:
        assert len(clean_samples(*stream(count)).time_s) == count
        return
    with pytest.raises(MotionError, match="less than two seconds"):
        clean_samples(*stream(count))


def test_columns_that_do_not_belong_together_are_refused():
    time_s, gyro, accel = stream()
    with pytest.raises(MotionError, match=r"gyro \(400, 2\) and accelerometer \(400, 3\) for 400 times"):
        clean_samples(time_s, gyro[:, :2], accel)
    with pytest.raises(MotionError, match=r"gyro \(400, 3\) and accelerometer \(399, 3\) for 400 times"):
        clean_samples(time_s, gyro, accel[1:])


def pieces(*spans_s):
    """Samples at 100 a second over these spans."""
    time_s = np.concatenate([np.arange(round(100 * a), round(100 * b) + 1) / 100.0 for a, b in spans_s])
    rows = np.arange(len(time_s), dtype=float)
    flags = rows % 7 == 0
    three = np.column_stack([rows, rows + 0.1, rows + 0.2])
    return InertialSamples(time_s, three, -three, flags, ~flags, 100.0, ())


def test_pieces_shorter_than_a_second_are_left_out_with_their_spans():
    samples = pieces((0.0, 2.0), (3.0, 3.99), (5.0, 6.0), (7.0, 7.5))
    kept, left_out = without_fragments(samples)
    assert left_out == [pytest.approx((3.0, 3.99)), pytest.approx((7.0, 7.5))]
    rows = np.flatnonzero((samples.time_s <= 2.0) | ((samples.time_s >= 5.0) & (samples.time_s <= 6.0)))
    for name in ("time_s", "gyro", "accel", "gyro_clipped", "accel_clipped"):
        assert np.array_equal(getattr(kept, name), getattr(samples, name)[rows])
    whole = pieces((0.0, 2.0), (3.0, 4.0))
    assert without_fragments(whole) == (whole, [])


def test_a_record_of_fragments_alone_is_refused():
    with pytest.raises(MotionError, match="broken into 2 pieces, none of 1 s"):
        without_fragments(pieces((0.0, 0.9), (2.0, 2.5)))
