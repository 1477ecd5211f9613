"""The whole way from a recording's samples to an inertial certificate, against known truth."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from feltload.acquisition.certificates.certificate import certificate_json, parse_certificate
from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.certificate import calibrate_inertial
from feltload.calibration.inertial.facts import InertialCertificateFact
from feltload.calibration.inertial.turns import KnownTurn

RATE = 100.0
BIAS = np.array([0.01, -0.02, 0.005])
OFFSET = np.array([0.1, -0.2, 0.3])


class Samples:
    """What calibration asks of a recording: names of streams, and samples of one."""

    def __init__(self, frame):
        self.frame = frame

    def streams_of(self, kind):
        return ("imu",) if kind == "inertial" else ()

    def stream(self, name, *, raw):
        return self.frame


def samples(directions, still_s=3.0, first_s=90.0):
    rng = np.random.default_rng(5)
    gyro, accel = [], []
    for i, direction in enumerate(directions):
        n = int((first_s if i == 0 else still_s) * RATE)
        up = 9.8 * np.asarray(direction) / np.linalg.norm(direction)
        gyro += [BIAS + rng.normal(0, 0.002, (n, 3)), rng.normal(0, 1.0, (100, 3))]
        accel += [up * 1.01 + OFFSET + rng.normal(0, 0.02, (n, 3)), up + rng.normal(0, 2.0, (100, 3))]
    # A full turn about z in four seconds, read 2 % low, with a still second on both sides.
    turning = np.zeros((600, 3))
    turning[100:500, 2] = 0.98 * 2 * np.pi / 4
    gyro.append(BIAS + turning + rng.normal(0, 0.002, (600, 3)))
    accel.append(np.tile([0, 0, 9.8 * 1.01] + OFFSET, (600, 1)) + rng.normal(0, 0.02, (600, 3)))
    values = np.hstack([np.vstack(gyro), np.vstack(accel)])
    time = np.arange(len(values)) / RATE
    names = [f"gyro_{k}_rad_s" for k in "xyz"] + [f"accel_{k}_m_s2" for k in "xyz"]
    frame = pd.DataFrame(values, columns=names)
    return Samples(frame.assign(host_s=time, device_s=time, seq=np.arange(len(time), dtype=float))), time[-1]


def test_certificate_of_a_known_sensor():
    rng = np.random.default_rng(1)
    recording, end = samples([*np.eye(3), *-np.eye(3), *rng.normal(size=(9, 3))])
    turn = KnownTurn(end - 5.5, end - 0.5, 2 * np.pi, np.radians(0.2))
    got = calibrate_inertial(
        recording, serial="I-1", date=dt.date(2026, 3, 2), latitude_rad=0.58, turns=[turn]
    )
    assert got.gyro_bias_rad_s == pytest.approx(BIAS, abs=3e-4)
    assert got.accel_offset_m_s2 == pytest.approx(OFFSET, abs=5e-3)
    assert np.diag(got.accel_matrix) == pytest.approx([1 / 1.01] * 3, abs=2e-3)
    assert got.gyro_matrix[2][2] == pytest.approx(1 / 0.98, abs=1e-3)
    assert got.u("gyro_scale_x") == pytest.approx(0.01)
    # White noise of sd s at rate f has density s / sqrt(f).
    assert got.noise.gyro_white_rad_s_rthz == pytest.approx([2e-4] * 3, rel=0.1)
    assert got.noise.accel_white_m_s2_rthz == pytest.approx([2e-3] * 3, rel=0.1)
    (doubt,) = [fact for fact in got.warnings if fact.kind == InertialCertificateFact.SCALE_NOT_CALIBRATED]
    assert doubt.figures["axes"] == "xy"
    assert parse_certificate(certificate_json(got)) == got


def test_a_sensor_never_turned_over_is_refused():
    recording, _ = samples([[1, 0, 0.01], [0, 1, 0.01]])
    with pytest.raises(AttitudesError, match="still attitudes"):
        calibrate_inertial(recording, serial="I-1", date=dt.date(2026, 3, 2))
