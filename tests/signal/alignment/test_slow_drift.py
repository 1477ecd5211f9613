"""An angle that wanders by degrees is told by the force: an emulated session's true motion, with a drift put on it."""

import numpy as np
import pytest

from feltload.emulator import scenario, simulate
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.alignment.slow_drift import LEAST_U_RAD, wandering_u_rad
from feltload.signal.alignment.solver import solve
from feltload.signal.movement.grid import Rotation, align
from feltload.signal.profile.quality import lag_facts

DRIFT_RAD = np.radians(3.0)


def drifted(time_s):
    """A bow over the record whose mean is zero, as the bias of a gyroscope leaves it."""
    bow = np.sin(np.pi * (time_s - time_s[0]) / (time_s[-1] - time_s[0])) ** 2
    return DRIFT_RAD * (bow - np.mean(bow))


def solved(machine, *, drift, u_q_rad, seed=5):
    """Session as given to the fit, its true rotation, the fit, and the static profile's error relative to its peak."""
    run = simulate(scenario(machine, tempo="mixed", load_kg=40.0), seed=seed)
    fine, force = run.truth["t_s"].to_numpy(), run.force
    time_s = np.arange(0.0, fine[-1], 0.01)
    q, rate, accel = (
        np.interp(time_s, fine, run.truth[name].to_numpy())
        for name in ("q_rad", "rate_rad_s", "accel_rad_s2")
    )
    u, nothing = np.full(len(time_s), u_q_rad), np.zeros(len(time_s))
    seen = q + (drifted(time_s) if drift else 0.0)
    motion = Rotation(time_s + run.inertial_delay_s, seen, rate, accel, u, nothing, 0.0, 1e-4)
    device = force["device_s"].to_numpy() * (1.0 - run.errors["force_clock_skew"])
    pull = force["force_n"].to_numpy()
    pull = pull - pull[force["host_s"].to_numpy() < 2.0].mean()
    arrived = device + np.min(force["host_s"].to_numpy() - device)
    aligned = align("run", motion, arrived, pull, load_kg=40.0)
    found, lags = solve([aligned], [[]])
    at = np.linspace(np.quantile(q, 0.05), np.quantile(q, 0.95), 60)
    static = found.layout.gather(found.fit.smoothed.coefficients, 40.0)[: found.layout.bases.static.size]
    truth = run.scenario.static_force_n(at)
    error = found.layout.bases.static.dense(at) @ static - truth
    return aligned, np.interp(aligned.time_s, motion.time_s, q), (found, lags), error / np.max(np.abs(truth))


@pytest.mark.parametrize("machine", ["lever-row", "four-bar"])
def test_the_force_takes_a_slow_drift_off_the_angle(machine):
    aligned, true, (found, lags), error = solved(machine, drift=True, u_q_rad=np.radians(2.0))
    (rows,) = found.sessions
    moving = aligned.moving_valid
    before, after = (np.std((q - true)[moving]) for q in (aligned.q_rad, rows.aligned.q_rad))
    assert np.degrees(before) > 0.9
    assert after < 0.35 * before
    (said,) = [fact for fact in lag_facts(found, lags) if fact.kind == AlignmentFact.DRIFT_TAKEN_OFF]
    assert said.figure("drift_rad") == pytest.approx(0.5 * DRIFT_RAD, rel=0.5)
    *_, left_alone = solved(machine, drift=True, u_q_rad=np.radians(0.01))
    assert np.std(error) < np.std(left_alone)


def test_an_angle_that_is_known_is_left_as_it_is():
    aligned, _, (found, lags), _ = solved("lever-row", drift=True, u_q_rad=0.9 * LEAST_U_RAD)
    (rows,) = found.sessions
    assert np.array_equal(rows.aligned.q_rad, aligned.q_rad)
    assert AlignmentFact.DRIFT_TAKEN_OFF not in {fact.kind for fact in lag_facts(found, lags)}
    assert wandering_u_rad(aligned) == pytest.approx(0.9 * LEAST_U_RAD, rel=0.01)


def test_where_the_angle_does_not_wander_hardly_anything_is_taken_off():
    aligned, true, (found, _), _ = solved("lever-row", drift=False, u_q_rad=np.radians(2.0))
    (rows,) = found.sessions
    moved = rows.aligned.q_rad - aligned.q_rad
    assert np.degrees(np.sqrt(np.mean(moved**2))) < 0.25
    assert np.degrees(np.std((rows.aligned.q_rad - true)[aligned.moving_valid])) < 0.3
