"""Delivered help and felt effort, against sessions whose hand forces and momentum are known."""

from __future__ import annotations

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.coaching import (
    OverlapError,
    PersonMotion,
    Phase,
    RepetitionEffort,
    SetEffort,
    delivered_help,
    set_effort,
)
from feltload.signal import ForceModel, ProfileEstimate, Travel
from lever_profile import lever_profile


def _session(
    profile: ProfileEstimate,
    *,
    load_kg: float = 40.0,
    repetitions: int = 4,
    seconds: float = 2.5,
    help_peak_n: float = 0.0,
    last_share: float = 1.0,
) -> PersonMotion:
    fs, pieces, times, now = 100.0, [], [], 0.0
    low, high = profile.angle_rad[0] + 0.01, profile.angle_rad[-1] - 0.01
    for number in range(repetitions):
        top = low + (high - low) * (last_share if number == repetitions - 1 else 1.0)
        part = np.arange(round(seconds * fs)) / (seconds * fs)
        smooth = 10 * part**3 - 15 * part**4 + 6 * part**5
        pieces += [low + (top - low) * smooth, np.full(40, top), top - (top - low) * smooth, np.full(40, low)]
        times.append((now, now + seconds + 0.2, now + 2 * seconds + 0.6))
        now += 2 * seconds + 0.8
    angle = np.concatenate(pieces)
    time = np.arange(angle.size) / fs
    rate = np.gradient(angle, 1 / fs)
    accel = np.gradient(rate, 1 / fs)
    hand_n = help_peak_n * np.clip((angle - np.deg2rad(15)) / np.deg2rad(20), 0, 1) * (rate > 0.02)
    force = profile.force_n(angle, rate, accel, load_kg) - hand_n
    noise = np.random.default_rng(3).normal(0, 0.5, force.size)
    return PersonMotion(time, angle, rate, accel, force + noise, tuple(times), u_zero_n=0.2, u_lag_n=0.3)


def test_no_help_reads_as_zero_within_its_band() -> None:
    profile = lever_profile()
    given = delivered_help(profile, _session(profile), 40.0)
    assert not given.helped
    mean, u95 = given.mean_n(Phase.CONCENTRIC), given.u95_n(Phase.CONCENTRIC)
    seen = np.isfinite(mean)
    assert np.mean(np.abs(mean[seen]) <= u95[seen]) > 0.95


def test_help_is_recovered_within_two_percent_of_peak() -> None:
    profile = lever_profile()
    given = delivered_help(profile, _session(profile, help_peak_n=60.0), 40.0)
    true = 60.0 * np.clip((given.angle_rad - np.deg2rad(15)) / np.deg2rad(20), 0, 1)
    mean = given.mean_n(Phase.CONCENTRIC)
    seen = np.isfinite(mean) & (np.rad2deg(given.angle_rad) < 40)
    error = (mean - true)[seen]
    assert given.helped
    assert float(np.sqrt(np.mean(error**2))) <= 0.02 * float(profile.raising_n.max())
    assert np.nanmax(np.abs(given.mean_n(Phase.ECCENTRIC))) < 3.0


def test_session_of_another_range_is_refused() -> None:
    profile = lever_profile()
    other = lever_profile(low_deg=60.0, high_deg=120.0)
    with pytest.raises(OverlapError):
        delivered_help(profile, _session(other), 40.0)


def test_parts_add_up_to_what_was_felt() -> None:
    profile = lever_profile()
    effort = set_effort(profile, _session(profile), 40.0)
    assert len(effort.repetitions) == 4
    for repetition in effort.repetitions:
        parts = repetition.static_n + repetition.friction_n + repetition.inertia_n
        assert parts == pytest.approx(repetition.felt_n, abs=3.0)


def test_a_repetition_is_taken_apart_by_hand() -> None:
    """At 2 rad/s and 3 rad/s²: 200 N static; 6 N of friction and 1.5 x 2 N; 6 x 3 N of inertia and 0.5 x 2² N with it.

    The repetition goes from -10° to 50° and the machine was profiled from 0° to 40°.
    """
    angle = np.deg2rad(np.arange(0.0, 40.1, 1.0))
    even = np.ones(angle.size)
    model = ForceModel(
        200.0 * even, 0.0 * even, 6.0 * even, 0.0 * even, 6.0 * even, 0.0 * even, 0.5 * even, 0.0 * even,
        viscous_n_per_rad_s=1.5, loads_differ=False,
    )  # fmt: skip
    profile = built_estimate(angle, 200.0 * even, model=model)
    path = np.deg2rad(np.linspace(-10.0, 50.0, 61))
    clock = np.arange(122.0) / 100.0
    felt = 230.0 + np.arange(122.0)
    motion = PersonMotion(
        clock, np.concatenate([path, path[::-1]]), np.full(122, 2.0), np.full(122, 3.0), felt,
        ((0.0, 0.60, 1.21), (0.0, 0.205, 0.3)),
    )  # fmt: skip
    (repetition,) = set_effort(profile, motion, 40.0).repetitions[:1]
    assert repetition.time_s == pytest.approx(np.arange(10, 51) / 100.0)
    assert repetition.felt_n == pytest.approx(felt[10:51])
    assert np.rad2deg(repetition.angle_rad[[0, -1]]) == pytest.approx([0.0, 40.0])
    assert repetition.static_n == pytest.approx(np.full(41, 200.0))
    assert repetition.friction_n == pytest.approx(np.full(41, 9.0), abs=1e-6)
    assert repetition.inertia_n == pytest.approx(np.full(41, 20.0), abs=1e-6)
    assert (repetition.duration_s, repetition.range_share) == pytest.approx((0.4, 1.0))
    assert repetition.mean_speed_per_s == pytest.approx(2.5)
    assert (repetition.mean_felt_n, repetition.peak_felt_n) == pytest.approx((260.0, 280.0))


@pytest.mark.parametrize(("samples", "enough"), [(10, True), (9, False)])
def test_a_repetition_has_ten_samples_within_the_profile(samples, enough) -> None:
    angle = np.deg2rad(np.arange(0.0, 40.1, 1.0))
    profile = built_estimate(angle, np.full(angle.size, 200.0))
    path = np.deg2rad(np.linspace(-4.5, samples - 0.5, samples + 5))
    flat = np.ones(path.size)
    times = ((0.0, 0.01 * path.size, 1.0),)
    motion = PersonMotion(0.01 * np.arange(path.size), path, flat, 0.0 * flat, 200.0 * flat, times)
    if enough:
        assert set_effort(profile, motion, 40.0).repetitions[0].time_s.size == samples
    else:
        with pytest.raises(OverlapError, match="no repetition lies within"):
            set_effort(profile, motion, 40.0)


def test_a_slow_set_has_no_momentum_and_a_fast_one_has() -> None:
    profile = lever_profile()
    slow = set_effort(profile, _session(profile, seconds=3.0), 40.0)
    fast = set_effort(profile, _session(profile, seconds=0.6), 40.0)
    assert slow.by_momentum == ()
    assert [repetition.index for repetition in fast.by_momentum] == [0, 1, 2, 3]


def test_range_lost_is_said() -> None:
    profile = lever_profile()
    effort = set_effort(profile, _session(profile, last_share=0.7), 40.0)
    assert effort.range_change == pytest.approx(-0.3, abs=0.02)


ALONG = Travel(np.array([-0.3, 0.9]))


def _effort(
    index: int, *, seconds: float = 2.0, relief_n: float = 0.0, travel_rad: float = 1.2
) -> RepetitionEffort:
    """From -0.3 rad under 100 N; what inertia asks for in the first half it gives back in the second."""
    share = np.linspace(0.0, 1.0, 301)
    level = np.full(301, 100.0)
    inertia = relief_n * np.sign(0.5 - share)
    angle = travel_rad * share - 0.3
    return RepetitionEffort(
        index, seconds * share, angle, level + inertia, level, 0.0 * share, inertia, ALONG
    )


def test_the_last_repetition_is_compared_with_the_fastest_before_it() -> None:
    """2.0, 1.6 and 2.4 s for the same travel: the last has 1.6 / 2.4 of the speed of the second."""
    effort = SetEffort(tuple(_effort(k, seconds=t) for k, t in enumerate((2.0, 1.6, 2.4))))
    assert effort.speed_change == pytest.approx(1.6 / 2.4 - 1.0)
    assert SetEffort(effort.repetitions[:1]).speed_change == 0.0
    assert SetEffort(effort.repetitions[:2]).speed_change == pytest.approx(2.0 / 1.6 - 1.0)


def test_the_travel_of_the_last_repetition_is_compared_with_that_of_the_first() -> None:
    effort = SetEffort(tuple(_effort(k, travel_rad=travel) for k, travel in enumerate((1.0, 1.2, 0.9))))
    assert effort.range_change == pytest.approx(-0.1)
    assert effort.to_frame()["number"].tolist() == [1, 2, 3]


@pytest.mark.parametrize(("relief_n", "carried"), [(9.0, False), (11.0, True)])
def test_momentum_is_a_tenth_of_the_static_work(relief_n, carried) -> None:
    repetition = _effort(0, seconds=1.0, relief_n=relief_n)
    assert repetition.momentum_share == pytest.approx(relief_n / 100.0)
    assert repetition.by_momentum == carried
    assert (repetition.start_added_n, repetition.end_relieved_n) == pytest.approx((relief_n, relief_n))
    assert repetition.peak_felt_n == pytest.approx(100.0 + relief_n)
    (row,) = SetEffort((repetition,)).to_frame().to_dict("records")
    assert (row["start_added_n"], row["end_relieved_n"]) == pytest.approx((relief_n, relief_n))
    assert (row["concentric_s"], row["peak_felt_n"]) == pytest.approx((1.0, 100.0 + relief_n))


def test_parts_are_means_over_travel_not_over_time() -> None:
    """Ten samples in the first tenth of the travel, and one every tenth after: 30 N of inertia over that tenth."""
    share = np.concatenate([np.arange(10) / 100.0, np.arange(1, 11) / 10.0])
    inertia = np.where(share < 0.1, 30.0, 0.0)
    level = np.full(share.size, 100.0)
    repetition = RepetitionEffort(0, share, share, level, level, 0.0 * level, inertia, ALONG)
    # Each sample stands for half of the way to its neighbours: ten for 0.01, that at 0.1 for 0.055, two for 0.1.
    assert repetition.start_added_n == pytest.approx(30.0 * 0.1 / 0.355)
    assert repetition.end_relieved_n == 0.0


def test_thirds_range_and_speed_are_those_of_the_handles_way() -> None:
    """A handle whose way is the square of the rotation: a third of it is passed at 1/√3 of the rotation, not at 1/3."""
    angle = np.linspace(0.0, 1.0, 2001)
    along, level = Travel(angle, angle**2), np.full(angle.size, 100.0)
    inertia = np.where(angle < 1.0 / np.sqrt(3.0), 30.0, np.where(angle > np.sqrt(2.0 / 3.0), -20.0, 0.0))
    whole = RepetitionEffort(0, 2.0 * angle, angle, level, level, 0.0 * level, inertia, along)
    assert (whole.start_added_n, whole.end_relieved_n) == pytest.approx((30.0, 20.0), rel=5e-3)
    assert whole.momentum_share == pytest.approx(0.2, rel=5e-3)
    half = RepetitionEffort(1, 2.0 * angle, 0.5 * angle, level, level, 0.0 * level, inertia, along)
    assert SetEffort((whole, half)).range_change == pytest.approx(0.25 - 1.0)
    assert SetEffort((whole, half)).speed_change == pytest.approx(0.25 - 1.0)
