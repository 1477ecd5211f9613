"""Repetitions against the script that the emulated person followed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from feltload.emulator import Person
from feltload.signal.movement.grid import Aligned, Series
from feltload.signal.movement.movements import Run, find_runs
from feltload.signal.profile.repetitions import Lost, find_repetitions, join_runs
from feltload.signal.profile.sides import compare_sides


def test_count_range_tempo_and_work(measure):
    found = measure("lever-row", seed=14, person=Person(repetitions=7))
    truth = found.runs[0].truth
    made = found.estimate.repetitions
    assert len(made) == 7
    for repetition in made:
        mine = truth[truth["repetition"] == repetition.index + 1]
        up = mine[mine["phase"] == "raise"]
        assert repetition.concentric_s == pytest.approx(up["t_s"].iloc[-1] - up["t_s"].iloc[0], abs=0.35)
        assert repetition.high_rad == pytest.approx(mine["q_rad"].max(), abs=0.01)
        work = np.trapezoid(up["handle_force_n"], up["q_rad"])
        assert repetition.work_j_per_m == pytest.approx(work, rel=0.03)
        assert repetition.work_j == pytest.approx(0.6 * repetition.work_j_per_m)
        assert repetition.peak_n == pytest.approx(up["handle_force_n"].max(), rel=0.03)


def test_partial_repetitions_are_told(measure):
    found = measure("lever-row", seed=15, person=Person(repetitions=8, partial_share=0.5))
    truth = found.runs[0].truth
    tops = truth[truth["repetition"] > 0].groupby("repetition")["q_rad"].max().to_numpy()
    complete = [repetition.complete for repetition in found.estimate.repetitions]
    assert len(complete) == 8
    assert complete == list(tops > 0.85 * tops.max())


def test_sides_are_compared_only_when_both_are_there(measure):
    made = measure("lever-row", seed=14).estimate.repetitions
    assert compare_sides(made) == []
    left = [replace(r, side="left") for r in made]
    right = [replace(r, side="right", peak_n=0.9 * r.peak_n) for r in made]
    row = next(row for row in compare_sides([*left, *right]) if row.quantity == "peak_n")
    assert row.percent == pytest.approx(10.0)
    assert row.u95 > 0


def scripted(tops_rad, *, lag_s=0.0, radius_m=0.6, valid=None, force_until_s=np.inf, until_s=np.inf):
    """Repetitions at 0.5 rad/s from rest to rest: 200 N raising, 150 N else, 0.5 s held on top."""
    rate = [np.zeros(100)]
    for top in tops_rad:
        moving = round(top / 0.5 * 100)
        rate += [np.full(moving, 0.5), np.zeros(50), np.full(moving, -0.5), np.zeros(100)]
    rate = np.concatenate(rate)
    rate = rate[: int(min(100.0 * until_s, rate.size))]
    time_s = 3.0 + np.arange(rate.size) / 100.0
    q = np.cumsum(rate) / 100.0
    force = np.where(rate > 0, 200.0, 150.0)
    zero = np.zeros_like(q)
    known = np.ones(q.size, dtype=bool) if valid is None else valid(time_s)
    there = time_s < force_until_s
    aligned = Aligned(
        "by hand", None, 40.0, 100.0, time_s, q, rate, zero, zero, zero, 0.0, 0.0, known,
        Series(time_s[there] + lag_s, force[there], 0.25), 0.01, 0.01,
    )  # fmt: skip
    return find_repetitions(aligned, find_runs(time_s, q, rate, known), lag_s, handle_radius_m=radius_m)


@pytest.mark.parametrize("lag_s", [0.0, 0.2])
def test_figures_of_a_repetition_by_hand(lag_s):
    (one,) = scripted([1.0], lag_s=lag_s)
    # Starts after a second of rest; 1 rad takes 2 s.
    assert (one.start_s, one.turn_s, one.end_s) == pytest.approx((4.0, 5.99, 8.49))
    assert (one.concentric_s, one.hold_s, one.eccentric_s) == pytest.approx((2.0, 0.5, 2.0))
    assert one.range_rad == pytest.approx(1.0, abs=0.006)
    assert (one.mean_rate_rad_s, one.peak_rate_rad_s) == pytest.approx((0.5, 0.5))
    # A spline through a step of the force overshoots a little.
    assert (one.mean_n, one.peak_n) == pytest.approx((200.0, 200.0), rel=0.03)
    # 200 N over 1 rad; with 0.6 m, 120 J in 2 s; 200 N at 0.3 m/s.
    assert one.work_j_per_m == pytest.approx(200.0, rel=1e-3)
    assert (one.work_j, one.mean_power_w) == pytest.approx((120.0, 60.0), rel=1e-3)
    assert one.peak_power_w == pytest.approx(60.0, rel=0.03)
    # 200 N for 2 s and 150 N for 2.5 s.
    assert one.impulse_n_s == pytest.approx(775.0, rel=1e-3)
    assert one.under_tension_s == pytest.approx(4.5)
    assert one.complete and one.range_lost == 0.0


def test_without_a_handle_radius_there_is_no_work_in_joules():
    (one,) = scripted([1.0], radius_m=None)
    assert np.isnan([one.work_j, one.mean_power_w, one.peak_power_w]).all()
    assert one.work_j_per_m == pytest.approx(200.0, rel=1e-3)


def test_a_repetition_is_partial_below_nine_tenths_of_the_widest():
    made = scripted([1.0, 0.92, 0.88, 1.1])
    assert [one.index for one in made] == [0, 1, 2, 3]
    # The widest is the last: 1.0 is 0.909 of 1.1, 0.92 is 0.836.
    assert [one.complete for one in made] == [True, False, False, True]
    # Lost against the first; more than the first is no loss.
    assert [one.range_lost for one in made] == pytest.approx([0.0, 0.08, 0.12, 0.0], abs=0.006)


def test_a_hole_makes_a_repetition_incomplete():
    # Repetitions begin at 4.0, 9.5 and 15.0 s. The inertial stream is silent at the top of the second.
    made = scripted([1.0, 1.0, 1.0], valid=lambda time_s: (time_s < 11.2) | (time_s > 11.8))
    assert [one.complete for one in made] == [True, False, True]
    assert made[1].eccentric_s == 0.0
    # The force ends 0.5 s into the third repetition's lowering.
    made = scripted([1.0, 1.0, 1.0], force_until_s=18.0)
    assert [one.complete for one in made] == [True, True, False]


def test_a_record_that_ends_on_top_ends_with_a_repetition_that_was_not_lowered():
    # One second of rest, two up; the second repetition goes up from 6.5 to 8.5 s.
    made = scripted([1.0, 1.0], until_s=8.6)
    assert [one.concentric_s for one in made] == pytest.approx([2.0, 2.0])
    assert (made[1].eccentric_s, made[1].hold_s, made[1].end_s) == (0.0, 0.0, made[1].turn_s)
    assert made[1].complete


def test_runs_are_joined_over_small_reversals_only():
    def joined(*stops_rad, lost=()):
        """Runs between these turning points, ten samples each."""
        q = np.interp(np.arange(10 * len(stops_rad) - 9), 10 * np.arange(len(stops_rad)), stops_rad)
        runs = [
            Run(10 * k, 10 * k + 11, 1 if b > a else -1, True, True)
            for k, (a, b) in enumerate(pairwise(stops_rad))
        ]
        flags = np.zeros(q.size, dtype=bool)
        flags[list(lost)] = True
        return [(m.start, m.stop, m.direction) for m in join_runs(runs, q, Lost(flags))]

    assert joined(0.0, 1.0, 0.0) == [(0, 11, 1), (10, 21, -1)]
    # Back by 0.11 of the travel on the way up: one movement; by 0.13, three.
    assert joined(0.0, 0.5, 0.39, 1.0) == [(0, 31, 1)]
    assert joined(0.0, 0.5, 0.37, 1.0) == [(0, 11, 1), (10, 21, -1), (20, 31, 1)]
    # Not over a hole.
    assert joined(0.0, 0.5, 0.39, 1.0, lost=[15]) == [(0, 11, 1), (20, 31, 1)]
    assert join_runs([], np.zeros(3), Lost(np.zeros(3, dtype=bool))) == []


def test_difference_of_the_sides_is_that_of_welchs_test():
    # scipy's t test with unequal variances is the reference.
    made = scripted([1.0] * 9)
    rng = np.random.default_rng(1)
    left = [replace(one, side="left", peak_n=200.0 + rng.normal()) for one in made[:4]]
    right = [replace(one, side="right", peak_n=190.0 + 5.0 * rng.normal()) for one in made[4:]]
    partial = replace(made[0], side="left", peak_n=900.0, complete=False)
    (row,) = compare_sides([*left, *right, partial], ["peak_n"])
    reference = stats.ttest_ind([r.peak_n for r in left], [r.peak_n for r in right], equal_var=False)
    low, high = reference.confidence_interval(0.95)
    assert (row.difference - row.u95, row.difference + row.u95) == pytest.approx((low, high))
    assert row.left == pytest.approx(np.mean([r.peak_n for r in left]))
    # However small the figures are.
    made = [replace(one, concentric_s=one.peak_n / 1000.0) for one in (*left, *right)]
    assert compare_sides(made, ["concentric_s"])[0].u95 == pytest.approx(row.u95 / 1000.0)
    # Fewer than two of a side are not compared; equal figures differ by nothing.
    assert compare_sides([*left, right[0]]) == []
    (same,) = compare_sides(
        [replace(one, side=side) for one in made[:2] for side in ("left", "right")], ["load_kg"]
    )
    assert (same.difference, same.u95) == (0.0, 0.0)
