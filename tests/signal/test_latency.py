"""Lag: from the dynamics, combined with other readings, and unknown when it cannot be known."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.emulator import Person, scenario, simulate
from feltload.signal.latency import UNKNOWN_U_S, combine, knock_lag
from feltload.signal.profile import LagReading


def test_weighted_mean_of_readings_that_agree():
    lag = combine([LagReading("dynamics", 0.030, 0.001), LagReading("knock", 0.032, 0.002)])
    # Weights 1 and 1/4.
    assert lag.value_s == pytest.approx((0.030 + 0.25 * 0.032) / 1.25)
    assert lag.u_s == pytest.approx(0.001 / np.sqrt(1.25))
    assert lag.agree
    assert lag.known
    assert lag.chi2 == pytest.approx(0.002**2 / (0.001**2 + 0.002**2))


def test_readings_that_disagree_say_so_and_widen():
    lag = combine([LagReading("dynamics", 0.030, 0.001), LagReading("rig", 0.060, 0.001)])
    assert not lag.agree
    assert lag.u_s > 0.01


def test_a_reading_that_knows_nothing_falls_back_on_the_prior():
    lag = combine([LagReading("dynamics", 0.25, 0.5)])
    assert not lag.known
    assert abs(lag.value_s) < 0.05
    assert lag.u_s < 1.01 * UNKNOWN_U_S


def test_no_reading_is_unknown():
    assert not combine([]).known


@pytest.mark.parametrize("seed", [1, 2])
def test_knock_and_dynamics_agree_with_truth(measure, seed):
    found = measure("lever-row", seed=seed, person=Person(handle_knocks=3))
    run = found.runs[0]
    assert len(run.knocks_s) == 3
    inertial = run.inertial
    shock = inertial.filter(like="accel").to_numpy()
    force = found.sessions[0].force
    reading = knock_lag(
        found.solved.sessions[0].aligned,
        run.knocks_s,
        (force["host_s"].to_numpy(), force["force_n"].to_numpy()),
        (inertial["host_s"].to_numpy(), shock),
    )
    assert reading is not None
    assert abs(reading.value_s - run.true_lag_s) < 3.0 * reading.u_s
    assert combine([found.lags[0].readings[0], reading]).agree


def test_knock_that_is_not_there_gives_no_reading(measure):
    found = measure("lever-row", seed=1)
    run = simulate(scenario("lever-row"), seed=100)
    force = run.force
    shock = run.inertial.filter(like="accel").to_numpy()
    reading = knock_lag(
        found.solved.sessions[0].aligned,
        (1.5,),
        (force["host_s"].to_numpy(), force["force_n"].to_numpy()),
        (run.inertial["host_s"].to_numpy(), shock),
    )
    assert reading is None
