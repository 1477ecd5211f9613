"""Felt inertia by thirds: its size, its course along the travel, and its band against the emulated truth."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.profile.files.results import load_results, save_results
from feltload.signal.profile.observed.felt_inertia import by_thirds


def test_means_over_three_equal_parts() -> None:
    assert by_thirds(np.array([[1.0, 3.0, 5.0, 5.0, 9.0, 0.0]])) == pytest.approx(np.array([[2.0, 5.0, 4.5]]))


def test_thirds_of_the_travel_hold_the_truth_within_their_band(measure) -> None:
    """Eight sessions of machines whose felt inertia varies: errors as large as stated, within a factor of two."""
    errors = []
    for seed in range(8):
        found = measure(("four-bar", "cam-drum")[seed % 2], seed=80 + seed, systematic=True)
        made, run = found.estimate, found.runs[0]
        load = float(made.loads_kg[0])
        q = made.angle_rad - run.start_angle_rad
        truth = by_thirds(run.scenario.inertia_n_per_rad_s2(q, load))
        inertia = made.felt_inertia
        assert inertia.value_n_per_rad_s2[0] == pytest.approx(truth, rel=0.05)
        errors.append((inertia.value_n_per_rad_s2[0] - truth) / np.sqrt(np.diag(inertia.covariance)))
    assert 0.4 < np.sqrt(np.mean(np.square(errors))) < 1.7


def test_it_comes_back_from_disk(measure, tmp_path) -> None:
    made = measure("lever-row", seed=11).estimate
    save_results(tmp_path / "out", made)
    kept = load_results(tmp_path / "out")
    assert kept.felt_inertia.value_n_per_rad_s2 == pytest.approx(made.felt_inertia.value_n_per_rad_s2)
    assert kept.felt_inertia.covariance == pytest.approx(made.felt_inertia.covariance)
    assert kept.attitudes == made.attitudes
