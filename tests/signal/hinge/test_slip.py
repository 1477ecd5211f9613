"""A sensor that slips about the hinge's own axis: its own acceleration tells; the rig is written out here."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from feltload.emulator import scenario, simulate
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact

RATE_HZ = 100.0
SLIP_S = 33.0


def lever(seed, slip_deg, period_s=3.5, radius_m=0.25):
    """Sensor on an arm that rests for two seconds, then repeats 62 degrees; it slips within a fifth of a second."""
    rng = np.random.default_rng(seed)
    fine = np.arange(0.0, 60.0, 1.0 / (10 * RATE_HZ))
    after = np.maximum(fine - 2.0, 0.0)
    q = 0.6 * (1.0 - np.cos(2 * np.pi * after / period_s)) * (0.9 + 0.1 * np.cos(0.3 * after))
    slip = np.radians(slip_deg) * np.clip((fine - SLIP_S) / 0.2, 0.0, 1.0)
    rate = np.gradient(q, fine)
    along, across, zero = -radius_m * rate**2, radius_m * np.gradient(rate, fine), np.zeros_like(q)
    angle = rng.uniform(-np.pi, np.pi) + q + slip
    felt = np.column_stack(
        [
            9.81 * np.cos(angle) + np.cos(slip) * along + np.sin(slip) * across,
            -9.81 * np.sin(angle) - np.sin(slip) * along + np.cos(slip) * across,
            zero,
        ]
    )
    turning = np.column_stack([zero, zero, rate + np.gradient(slip, fine)])
    turn, pick = Rotation.random(rng=rng).as_matrix(), slice(None, None, 10)
    gyro = (turning @ turn.T)[pick] / 1.01 + 0.01 * rng.normal(size=3)
    accel = (felt @ turn.T)[pick] * (1 + 0.002 * rng.normal(size=3)) + 0.15 * rng.normal(size=3)
    gyro += rng.normal(0.0, 1.5e-3, gyro.shape)
    accel += rng.normal(0.0, 0.02, accel.shape)
    return fine[pick], gyro, accel


def slips(warnings):
    return [fact for fact in warnings if fact.kind == HingeFact.SLIPPED_ABOUT_HINGE]


@pytest.mark.parametrize("slip_deg", [5.0, -5.0])
def test_a_slip_about_the_hinge_is_reported_near_its_time(slip_deg):
    for seed in range(4):
        (slip,) = slips(estimate_hinge(*lever(seed, slip_deg)).warnings)
        assert slip.span_s[0] == pytest.approx(SLIP_S, abs=5.0)


def test_a_firm_sensor_is_not_accused():
    for seed in range(6):
        assert not slips(estimate_hinge(*lever(seed, 0.0)).warnings)
        assert not slips(estimate_hinge(*lever(seed, 0.0, radius_m=0.01)).warnings)


@pytest.mark.parametrize(
    ("sensors", "tempo"), [("ordinary", "mixed"), ("cheap", "brisk"), ("ordinary", "slow")]
)
def test_nor_one_of_the_emulated_rig(sensors, tempo):
    for seed in range(3):
        stream = simulate(scenario("lever-row", sensors=sensors, tempo=tempo), seed=seed).inertial
        gyro = stream[[f"gyro_{axis}_rad_s" for axis in "xyz"]].to_numpy()
        accel = stream[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy()
        assert not slips(estimate_hinge(stream["device_s"], gyro, accel).warnings)
