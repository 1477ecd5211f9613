"""Studies at once: who was measured by whom, what differs, and that nothing else does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.core import InputError
from feltload.emulator import BenchCell, campaign, simulate
from feltload.emulator.visits import CampaignErrors

NONE = CampaignErrors(machine_share=0.0, friction_share=0.0, gain_share=0.0, grip_m=0.0, lean_deg=0.0)


def peak_n(visit) -> float:
    return float(visit.read_static_n(np.linspace(0.0, visit.scenario.machine.travel_rad, 201)).max())


def test_every_visit_once_and_the_same_again():
    visits = campaign(machines=2, operators=2, days=2, remounts=2)
    assert len({visit.name for visit in visits}) == 16 == len({visit.seed for visit in visits})
    assert visits == campaign(machines=2, operators=2, days=2, remounts=2)
    assert len({visit.machine_toml for visit in visits}) == 2
    with pytest.raises(InputError, match="operators"):
        campaign(operators=9)


@pytest.mark.parametrize(
    ("errors", "factors"),
    [
        ({"machine_share": 0.02}, ("machine",)),
        ({"gain_share": 0.001}, ("day",)),
        ({"grip_m": 0.002}, ("machine", "operator", "day", "remount")),
        ({"lean_deg": 3.0}, ("machine", "operator", "day", "remount")),
        ({"friction_share": 0.15}, ()),
    ],
)
def test_each_error_changes_the_peak_by_its_own_factor_alone(errors, factors):
    visits = campaign(machines=2, errors=replace(NONE, **errors))
    by_level: dict[tuple, set[float]] = {}
    for visit in visits:
        level = tuple(getattr(visit, name) for name in factors)
        by_level.setdefault(level, set()).add(round(peak_n(visit), 9))
    assert all(len(peaks) == 1 for peaks in by_level.values())
    assert len({next(iter(peaks)) for peaks in by_level.values()}) == len(by_level)


def test_the_cell_sends_what_its_calibration_says():
    """Counts at rest are the zero, and a pull reads as under the same weight, but for noise and zero."""
    visit = campaign(machines=1, operators=1, days=1, remounts=1, errors=NONE)[0]
    run = simulate(visit.scenario, seed=visit.seed)
    cell, rng = replace(BenchCell(), noise_counts=0.0), np.random.default_rng(0)
    zero_n = run.errors["force_zero_n"]
    assert zero_n * cell.counts_per_n == pytest.approx(cell.zero_counts, abs=5 * 4.0 * cell.counts_per_n)
    truth, counts = run.truth, run.force_samples.words
    late_s = run.force_delay_s - visit.scenario.sensors.force.transport.floor_s
    pull_n = np.interp(run.force_samples.sample_s - late_s, truth["t_s"], truth["handle_force_n"])
    still = np.abs(np.gradient(pull_n)) < 0.3
    wanted = [cell.counts(force, 0.0, rng) for force in pull_n[still]]
    off_n = (counts[still] - wanted) / cell.counts_per_n + cell.zero_counts / cell.counts_per_n - zero_n
    assert np.median(off_n[pull_n[still] > 150.0]) == pytest.approx(0.0, abs=0.3)
