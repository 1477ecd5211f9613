"""A person's session on one clock, against an emulated rig whose motion, force and lag are known."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from feltload.coaching import PersonMotion, person_motion
from feltload.emulator import Person, SimulatedRun, scenario, simulate
from feltload.signal import ForceUncertainty, Lag, Reference, Session
from profiled_rigs import session_of


@cache
def _run() -> SimulatedRun:
    return simulate(scenario("lever-row", sensors="ordinary", person=Person(repetitions=3)), seed=5)


def _session() -> Session:
    stated = ForceUncertainty(gain=0.0, zero_n=0.3, drift_n=0.4, gain_stated=True, zero_stated=True)
    return replace(session_of(_run()), force_uncertainty=stated, side="left")


@cache
def _motion(off_s: float = 0.0, u_lag_s: float = 0.001) -> PersonMotion:
    """With the rig's true lag, or one that is off."""
    run = _run()
    reference = Reference("lever-row", run.start_angle_rad, 0.0)
    return person_motion(_session(), reference, Lag(run.true_lag_s + off_s, u_lag_s))


def _moving(motion: PersonMotion) -> np.ndarray:
    return np.abs(motion.rate_rad_s) > 0.05


def test_angle_and_force_are_those_of_one_instant() -> None:
    run, motion = _run(), _motion()
    truth = run.truth
    instant, moving = motion.time_s - run.inertial_delay_s, _moving(motion)
    angle = np.interp(instant, truth["t_s"], truth["q_rad"]) + run.start_angle_rad
    force = np.interp(instant, truth["t_s"], truth["handle_force_n"])
    error = (motion.angle_rad - angle)[moving]
    # The stated uncertainty is that of the error, neither a third nor three times of it.
    assert np.sqrt(np.mean(error**2)) == pytest.approx(motion.u_angle_rad, rel=0.6)
    assert np.abs(motion.force_n - force)[moving].mean() < 1.0
    late = _motion(off_s=0.05)
    assert np.abs(late.force_n - force)[moving].mean() > 2.0
    assert motion.rate_hz == pytest.approx(100.0)
    assert motion.force_rate_hz == pytest.approx(80.0, rel=0.001)
    assert motion.side == "left" and len(motion.repetitions) == 3


def test_uncertainty_of_the_force_from_zero_and_lag() -> None:
    """0.3 N and 0.4 N of zero and its drift; and what a lag that is off by its uncertainty changes."""
    motion, off = _motion(), _motion(off_s=0.001)
    assert motion.u_zero_n == pytest.approx(0.5)
    change = (off.force_n - motion.force_n)[_moving(motion)]
    assert motion.u_lag_n == pytest.approx(float(np.sqrt(np.mean(change**2))), rel=0.1)
    assert _motion(u_lag_s=0.003).u_lag_n == pytest.approx(3.0 * motion.u_lag_n)


def test_without_a_lag_the_force_is_treated_as_in_time() -> None:
    run = _run()
    still = person_motion(_session(), Reference("lever-row", run.start_angle_rad, 0.0))
    assert still.u_lag_n == 0.0
    later = np.interp(still.time_s + run.true_lag_s, still.time_s, still.force_n)
    inside = still.time_s < still.time_s[-1] - 0.1
    assert np.abs(later - _motion().force_n)[inside].mean() < 0.3


def test_where_samples_of_either_sensor_are_lost_nothing_is_measured() -> None:
    """Inertial samples missing by their count, six or one, and 50 ms beside them; 70 ms of force, but not 30 ms."""
    session = _session()
    time = session.inertial["host_s"].to_numpy()
    first = int(np.searchsorted(time, 5.0))
    single = int(np.searchsorted(time, 14.0))
    inertial = session.inertial.drop(index=[*range(first, first + 6), single])
    gaps = [(time[first - 1] - 0.05, time[first + 6]), (time[single - 1] - 0.05, time[single + 1])]
    lost = session.force["host_s"].between(8.0, 8.07)
    short = session.force["host_s"].between(12.0, 12.03)
    motion = person_motion(
        replace(session, inertial=inertial, force=session.force[~lost & ~short]),
        Reference("lever-row", _run().start_angle_rad, 0.0),
        Lag(0.0, 0.0),
    )
    assert motion.measured is not None

    def missing(low_s: float, high_s: float) -> np.ndarray:
        window = (motion.time_s >= low_s) & (motion.time_s <= high_s)
        return motion.time_s[window & ~motion.measured]

    assert missing(4.5, 6.0)[[0, -1]] == pytest.approx(gaps[0], abs=0.011)
    assert missing(13.5, 14.5)[[0, -1]] == pytest.approx(gaps[1], abs=0.011)
    assert missing(7.5, 8.5)[[0, -1]] == pytest.approx((8.0, 8.07), abs=0.025)
    assert missing(11.5, 12.5).size == 0
