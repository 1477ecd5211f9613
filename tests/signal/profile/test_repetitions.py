"""Repetitions against the script that the emulated person followed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Person
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
