"""What filter and angles leave of a hand's force, and where help is given at all: closed forms on a made-up rig.

The rig is exact: its handle feels what the machine needs less the hand's force, so that the gap is the hand alone.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.coaching import (
    DeliveredHelp,
    HalfRepetitionHelp,
    OverlapError,
    PersonMotion,
    Phase,
    delivered_help,
)
from feltload.coaching.hands.line_smoothing import smooth_at_angles

STEP_DEG = 0.2


def _steady(since_s: np.ndarray, number: int) -> np.ndarray:
    return np.full(since_s.size, 30.0)


def _always(since_s: np.ndarray) -> np.ndarray:
    return np.ones(since_s.size, dtype=bool)


def _set(
    hand_n: Callable[[np.ndarray, int], np.ndarray] = _steady,
    *,
    profiled_deg: tuple[float, float] = (0.0, 70.0),
    low_deg: float = 5.0,
    travel_deg: float = 60.0,
    rate_deg_s: float = 50.0,
    count: int = 3,
    rest_s: float = 1.0,
    rate_hz: float = 500.0,
    cell_hz: float = np.inf,
    measured: Callable[[np.ndarray], np.ndarray] = _always,
) -> DeliveredHelp:
    """Repetitions at an even rate with a rest before each half.

    `hand_n` and `measured` take the seconds since a half began, `hand_n` also the number of the repetition.
    """
    machine = built_estimate(
        angle := np.deg2rad(np.arange(*profiled_deg, STEP_DEG)), np.full(angle.size, 200.0)
    )
    since = np.arange(round(travel_deg / rate_deg_s * rate_hz)) / rate_hz
    up = np.deg2rad(low_deg + rate_deg_s * since)
    still = round(rest_s * rate_hz)
    angles, rates, hands, kept, times = [], [], [], [], []
    for number in range(count):
        for way, path in ((1.0, up), (-1.0, up[::-1])):
            angles += [np.full(still, path[0]), path]
            rates += [np.zeros(still), np.full(since.size, way * np.deg2rad(rate_deg_s))]
            hands += [np.zeros(still), hand_n(since, number)]
            kept += [np.ones(still, dtype=bool), measured(since)]
        half_s = (still + since.size) / rate_hz
        start = 2 * number * half_s + still / rate_hz
        times.append((start, start + half_s, start + half_s + since.size / rate_hz))
    angle, rate = np.concatenate(angles), np.concatenate(rates)
    needed = machine.force_n(angle, rate, 0.0, 40.0)
    motion = PersonMotion(
        time_s=np.arange(angle.size) / rate_hz,
        angle_rad=angle,
        rate_rad_s=rate,
        accel_rad_s2=np.zeros(angle.size),
        force_n=np.nan_to_num(needed) - np.concatenate(hands),
        repetitions=tuple(times),
        measured=np.concatenate(kept),
        force_rate_hz=cell_hz,
    )
    return delivered_help(machine, motion, 40.0)


def _seen_deg(given: DeliveredHelp, half: HalfRepetitionHelp) -> np.ndarray:
    return np.rad2deg(given.angle_rad[np.isfinite(half.help_n)])


def _passed(frequency_hz: float, cutoff_hz: float, rate_hz: float) -> float:
    """Second-order Butterworth forth and back: 1 / (1 + (f / f_c)^4), f warped as by the bilinear transform."""
    warped = np.tan(np.pi * frequency_hz / rate_hz) / np.tan(np.pi * cutoff_hz / rate_hz)
    return float(1.0 / (1.0 + warped**4))


@pytest.mark.parametrize(
    ("frequency_hz", "rate_hz", "rate_deg_s", "cell_hz", "cutoff_hz", "again_hz"),
    [
        (20.0, 500.0, 50.0, np.inf, 20.0, 20.0),
        (8.0, 500.0, 50.0, np.inf, 20.0, 20.0),
        # A cell of 40 readings a second passes a fifth of them.
        (8.0, 500.0, 50.0, 40.0, 20.0, 8.0),
        # 40 samples a second bear no filter of 20 Hz: two fifths of them.
        (7.0, 40.0, 4.0, np.inf, 16.0, 16.0),
    ],
)
@pytest.mark.parametrize("alike", [True, False])
def test_an_oscillating_hand_by_closed_forms(
    frequency_hz, rate_hz, rate_deg_s, cell_hz, cutoff_hz, again_hz, alike
) -> None:
    """Two samples a step of the angles: three steps of a triangle over five samples, then one more on three angles.

    Alike in every repetition, all that one more smoothing takes off stands out and is put back. Turned round from
    repetition to repetition it is noise, and nothing is put back.
    """
    omega = 2.0 * np.pi * frequency_hz

    def hand_n(since_s: np.ndarray, number: int) -> np.ndarray:
        return 30.0 * (1.0 if alike or number % 2 else -1.0) * np.cos(omega * since_s)

    given = _set(hand_n, count=4, rate_hz=rate_hz, rate_deg_s=rate_deg_s, travel_deg=40.0, cell_hz=cell_hz)
    (half, *_) = [each for each in given.half_repetitions if each.phase == Phase.CONCENTRIC][1:]
    seen = np.isfinite(half.help_n)
    seen &= (np.rad2deg(given.angle_rad) > 20.0) & (np.rad2deg(given.angle_rad) < 30.0)
    since_s = (np.rad2deg(given.angle_rad[seen]) - 5.0) / rate_deg_s
    waves = np.stack([np.cos(omega * since_s), np.sin(omega * since_s)], axis=1)
    cosine, sine = np.linalg.lstsq(waves, half.help_n[seen])[0]

    by_time, again = (_passed(frequency_hz, hz, rate_hz) for hz in (cutoff_hz, again_hz))
    one = omega / rate_hz
    by_angle = (3.0 + 4.0 * np.cos(one) + 2.0 * np.cos(2.0 * one)) / 9.0
    once_more = 0.5 + 0.5 * np.cos(2.0 * one)
    put_back = (1.0 - again) + (1.0 - once_more) if alike else 0.0
    assert (cosine, sine) == pytest.approx((30.0 * by_time * by_angle * (1.0 + put_back), 0.0), abs=0.05)


@pytest.mark.parametrize(
    ("profiled_deg", "cell_hz", "first_deg", "last_deg"),
    [
        # A tenth of a second after the start and before the turn, at 50° a second.
        ((0.0, 70.0), np.inf, 10.0, 60.0),
        # Beyond its ends the profile says nothing. An answer to a step is 98 % after the time at which
        # exp(-a t) cos(a t) = 0.04 with a = 2 pi f_c / sqrt(2): 16 ms for 20 Hz, 158 ms for a cell of ten readings a
        # second, which passes 2 Hz. To that comes the tenth of a second.
        ((20.0, 50.0), np.inf, 25.8, 44.0),
        ((20.0, 58.0), 10.0, 32.9, 44.9),
    ],
)
def test_where_help_is_given(profiled_deg, cell_hz, first_deg, last_deg) -> None:
    given = _set(profiled_deg=profiled_deg, cell_hz=cell_hz)
    assert len(given.half_repetitions) == 6
    for half in given.half_repetitions:
        assert _seen_deg(given, half)[[0, -1]] == pytest.approx([first_deg, last_deg], abs=0.35)
        assert half.help_n[np.isfinite(half.help_n)] == pytest.approx(30.0, rel=0.04)


def test_what_was_not_measured_has_no_help_nor_what_is_beside_it() -> None:
    """Nothing measured from 0.5 s to 0.6 s after the start, which is 30° to 35°; a tenth of a second on both sides."""
    given = _set(measured=lambda since_s: (since_s < 0.5) | (since_s > 0.6))
    raising = _seen_deg(given, given.half_repetitions[0])
    beside = raising[np.flatnonzero(np.diff(raising) > 1.0)[0] + np.arange(2)]
    assert beside == pytest.approx([25.0, 40.0], abs=0.25)


@pytest.mark.parametrize(("samples", "halves"), [(106, 6), (105, 0)])
def test_a_half_repetition_has_three_angles(samples, halves) -> None:
    """Fifty samples, a tenth of a second, are left out on both sides. Six samples are left, half a degree from 39.95°
    on (39.35° downwards likewise), with three of the profile's angles; or five with two.
    """

    def measured(since_s: np.ndarray) -> np.ndarray:
        number = np.round(since_s * 500.0)
        return (number >= 300) & (number < 300 + samples)

    if halves:
        assert len(_set(low_deg=4.95, measured=measured).half_repetitions) == halves
    else:
        with pytest.raises(OverlapError, match="no repetition was found"):
            _set(low_deg=4.95, measured=measured)


@pytest.mark.parametrize(("rate_deg_s", "moves"), [(2.9, False), (3.1, True)])
def test_an_arm_slower_than_three_degrees_a_second_is_turning(rate_deg_s, moves) -> None:
    words = {"rate_deg_s": rate_deg_s, "travel_deg": 12.0, "rate_hz": 50.0, "count": 1}
    if moves:
        assert len(_set(**words).half_repetitions) == 2
    else:
        with pytest.raises(OverlapError, match="no repetition was found"):
            _set(**words)


@pytest.mark.parametrize(("rest_s", "enough"), [(6.4, True), (7.2, False)])
def test_a_session_is_one_part_in_twenty_within_the_profile(rest_s, enough) -> None:
    """0.4 s of every 1.2 s of movement, and of the rest before it: 5.3 % and 4.8 % of the session."""
    words = {"profiled_deg": (20.0, 40.1), "rest_s": rest_s, "rate_hz": 100.0}
    if enough:
        assert len(_set(**words).half_repetitions) == 6
    else:
        with pytest.raises(OverlapError, match="hardly moves"):
            _set(**words)


def test_smoothing_onto_the_grid_keeps_straight_lines_and_averages_noise() -> None:
    grid = np.deg2rad(np.arange(0.0, 60.0, 1.0))
    generator = np.random.default_rng(4)
    angle = np.sort(generator.uniform(0.05, 0.95, 800))
    line = smooth_at_angles(angle, 3.0 + 20.0 * angle, grid)
    seen = np.isfinite(line)
    assert line[seen] == pytest.approx(3.0 + 20.0 * grid[seen], abs=1e-9)
    assert not seen[0] and not seen[-1]
    noise = smooth_at_angles(angle, generator.normal(0.0, 1.0, angle.size), grid)
    assert np.nanstd(noise) < 0.5


def test_samples_at_one_angle_have_no_slope_and_nothing_is_between_them() -> None:
    """Twenty samples each at 0.2°, 10.2° and 20.2°, of which half read 10 N more: their mean, a degree around."""
    angle = np.deg2rad(np.repeat([0.2, 10.2, 20.2], 20))
    value = np.repeat([100.0, 200.0, 300.0], 20) + np.tile([0.0, 10.0], 30)
    smooth = smooth_at_angles(angle, value, np.deg2rad(np.arange(0.0, 21.0)))
    assert np.flatnonzero(np.isfinite(smooth)).tolist() == [1, 9, 10, 11, 19, 20]
    assert smooth[[1, 9, 10, 11, 19, 20]] == pytest.approx([105.0, 205.0, 205.0, 205.0, 305.0, 305.0])


def test_where_the_movement_was_fast_two_samples_are_reached() -> None:
    """A tenth of a degree apart up to 3°, then 3° apart: a line is found at every degree."""
    angle = np.deg2rad(np.concatenate([np.arange(0.0, 3.0, 0.1), np.arange(3.0, 33.1, 3.0)]))
    grid = np.deg2rad(np.arange(0.0, 33.1))
    assert smooth_at_angles(angle, 5.0 - 30.0 * angle, grid) == pytest.approx(5.0 - 30.0 * grid)
