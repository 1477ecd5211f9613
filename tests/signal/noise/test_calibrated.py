"""An inertial sensor with a certificate: what the certificate leaves unknown reaches the smoother, end to end."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition.certificates.certificate import InertialCertificate, NoiseDensities
from feltload.acquisition.recording.recording import read_recording
from feltload.emulator import scenario, simulate
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.noise.calibrated import GYRO_SCALE_STABILITY, calibrated_noise
from feltload.signal.noise.densities import InertialNoise
from feltload.signal.pipeline import prepare
from feltload.signal.session import Session

RECORDINGS = Path(__file__).parents[3] / "recordings"
GYRO = [f"gyro_{axis}_rad_s" for axis in "xyz"]
ACCEL = [f"accel_{axis}_m_s2" for axis in "xyz"]
NAMES = [
    *(f"accel_offset_{axis}" for axis in "xyz"),
    *(f"accel_scale_{axis}" for axis in "xyz"),
    *(f"accel_misalignment_{pair}" for pair in ("xy", "xz", "yz")),
    *(f"gyro_scale_{axis}" for axis in "xyz"),
]


def a_certificate(
    gyro_scale=1.0,
    accel_scale=(1.0, 1.0, 1.0),
    offset=(0.0, 0.0, 0.0),
    *,
    u_turn=(0.001, 0.001, 0.001),
    u_scale=(0.0005, 0.0005, 0.0005),
    u_angle=0.0005,
    common=0.0,
    **more,
):
    stated = np.array([*[0.01] * 3, *u_scale, *[u_angle] * 3, *u_turn])
    covariance = np.diag(stated**2)
    covariance[3:6, 3:6] += common**2
    return InertialCertificate(
        serial="IMU-1",
        calibrated_on=dt.date(2020, 1, 2),
        expires_on=dt.date(2090, 1, 2),
        gravity_m_s2=9.80665,
        gravity_u_m_s2=3e-4,
        gyro_bias_rad_s=[0.0, 0.0, 0.0],
        gyro_matrix=(gyro_scale * np.eye(3)).tolist(),
        accel_offset_m_s2=list(offset),
        accel_matrix=np.diag(accel_scale).tolist(),
        parameter_names=NAMES,
        parameter_covariance=covariance.tolist(),
        residual_sd_m_s2=0.004,
        attitudes=[],
        **more,
    )


def test_gyro_axes_count_by_their_share_in_the_hinge():
    certificate = a_certificate(u_turn=(0.01, 0.001, 0.001))
    along = calibrated_noise(certificate, np.array([0.0, 1.0, 0.0]))
    assert along.gyro_scale_u == pytest.approx(np.hypot(0.001, GYRO_SCALE_STABILITY))
    between = calibrated_noise(certificate, np.sqrt([0.5, 0.5, 0.0]))
    assert between.gyro_scale_u == pytest.approx(np.hypot(0.0055, GYRO_SCALE_STABILITY))


def test_a_whole_gyro_matrix_against_drawn_ones():
    # Errors that belong together, as turns against one set of marks leave them.
    rng = np.random.default_rng(5)
    names = [f"gyro_scale_{a}" for a in "xyz"] + [
        f"gyro_misalignment_{p}" for p in ("xy", "xz", "yx", "yz", "zx", "zy")
    ]
    places = [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)]
    root = 0.002 * rng.normal(size=(9, 4))
    covariance = np.zeros((18, 18))
    covariance[9:, 9:] = root @ root.T
    certificate = a_certificate().model_copy(
        update={"parameter_names": [*NAMES[:9], *names], "parameter_covariance": covariance.tolist()}
    )
    axis = np.array([0.36, -0.48, 0.8])
    drawn = []
    for _ in range(4000):
        error = np.zeros((3, 3))
        for place, value in zip(places, root @ rng.normal(size=4), strict=True):
            error[place] = value
        drawn.append(axis @ error @ axis)
    known = calibrated_noise(certificate, axis).gyro_scale_u
    assert np.sqrt(known**2 - GYRO_SCALE_STABILITY**2) == pytest.approx(np.std(drawn), rel=0.04)


def test_a_scale_common_to_all_axes_does_not_bend_gravitys_circle():
    axis = np.array([0.6, 0.0, 0.8])
    plain = calibrated_noise(a_certificate(), axis)
    assert calibrated_noise(a_certificate(common=0.01), axis).accel_scale_u == pytest.approx(
        plain.accel_scale_u, rel=1e-6
    )
    assert plain.accel_scale_u == plain.accel_scale_limit_u < 0.002


def test_circle_against_drawn_matrices():
    # What the prior of the smoother speaks of, from drawn errors themselves.
    rng = np.random.default_rng(3)
    u_scale, u_angle, axis = np.array([0.0011, 0.0004, 0.0007]), 0.0009, np.array([0.36, -0.48, 0.8])
    across = np.linalg.svd(axis[None, :])[2][1:]
    squares = []
    for _ in range(4000):
        error = np.diag(rng.normal(0.0, u_scale))
        error[0, 1], error[0, 2], error[1, 2] = rng.normal(0.0, u_angle, 3)
        for a in across:
            b = -np.cross(axis, a)
            squares.append([*(error @ b + np.cross(axis, error @ a)), axis @ error @ a])
    known = calibrated_noise(a_certificate(u_scale=u_scale, u_angle=u_angle), axis)
    assert np.sqrt(known.accel_scale_u**2 - 0.0005**2) == pytest.approx(
        np.sqrt(np.mean(np.square(squares))), rel=0.03
    )


def test_attitudes_that_show_less_than_is_usual_make_nothing_worse():
    usual = InertialNoise()
    known = calibrated_noise(a_certificate(u_angle=0.02), np.array([0.0, 0.0, 1.0]), usual)
    assert known.accel_scale_u == usual.accel_scale_u
    assert known.accel_scale_limit_u == usual.accel_scale_limit_u
    assert known.gyro_scale_u < usual.gyro_scale_u


def test_densities_of_a_long_rest():
    noise = NoiseDensities(
        gyro_white_rad_s_rthz=[1e-4, 2e-4, 3e-4],
        gyro_bias_instability_rad_s=[None] * 3,
        gyro_random_walk_rad_s2_rthz=[2e-5, 3e-5, 4e-5],
        accel_white_m_s2_rthz=[1e-3, 1e-3, 2e-3],
        accel_bias_instability_m_s2=[None] * 3,
        accel_random_walk_m_s3_rthz=[None] * 3,
        duration_s=3600.0,
    )
    known = calibrated_noise(a_certificate(noise=noise), np.array([0.0, 0.0, 1.0]))
    assert known.gyro_density_rad_s_rt_hz == pytest.approx(3e-4)
    assert known.gyro_walk_rad_s_rt_s == pytest.approx(4e-5)
    assert known.accel_density_m_s2_rt_hz == pytest.approx(2e-3)


def true_certificate(errors):
    """What a good calibration of an emulated sensor would have found."""
    scales = [1.0 / (1.0 + errors[f"accel_scale_{axis}"]) for axis in "xyz"]
    offset = [errors[f"accel_offset_{axis}_m_s2"] for axis in "xyz"]
    return a_certificate(1.0 / (1.0 + errors["gyro_scale"]), scales, offset)


def test_a_calibrated_sensor_tells_the_angle_of_a_steep_hinge_better():
    plain, ours, inside = [], [], []
    for seed in range(6):
        run = simulate(scenario("steep-hinge"), seed=seed)
        certificate = true_certificate(run.errors)
        raw = run.inertial
        applied = raw.assign(
            **dict(zip(GYRO, certificate.gyro_rad_s(raw[GYRO].to_numpy()).T, strict=True)),
            **dict(zip(ACCEL, certificate.accel_m_s2(raw[ACCEL].to_numpy()).T, strict=True)),
        )
        for frame, found, errors in ((raw, None, plain), (applied, certificate, ours)):
            session = Session("one", run.force, frame, 40.0, inertial_certificate=found)
            motion = prepare(session)[0]
            truth = np.interp(motion.time_s - run.inertial_delay_s, run.truth["t_s"], run.truth["q_rad"])
            error = motion.q_rad - truth
            errors.append(np.degrees(np.sqrt(np.mean(error**2))))
        inside.append(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
    assert np.mean(ours) < 0.7 * np.mean(plain)
    assert np.mean(ours) < 0.05
    assert np.mean(inside) > 0.9


def test_a_recordings_certificate_reaches_the_smoother():
    path = RECORDINGS / "lever-row-20kg.mcap"
    plain = read_recording(path)
    name = plain.streams_of("inertial")[0]
    key = plain.description(name).certificate or name
    serial = plain.description(name).serial or "IMU-1"
    certificate = a_certificate().model_copy(update={"serial": serial})
    calibrated = read_recording(path, certificates={key: certificate.model_dump_json()})
    sessions = [Session.from_recording(recording) for recording in (plain, calibrated)]
    assert sessions[0].inertial_certificate is None
    assert sessions[1].inertial_certificate == certificate
    scales = []
    for session in sessions:
        frame = session.inertial
        motion = estimate_hinge(
            frame["device_s"], frame[GYRO], frame[ACCEL], certificate=session.inertial_certificate
        )
        scales.append(motion.u_scale)
    assert scales[1] < 0.7 * scales[0]


def test_a_certificate_that_gravity_contradicts_is_reported():
    run = simulate(scenario("lever-row"), seed=2)
    raw, good = run.inertial, true_certificate(run.errors)
    for scale, reported in ((1.0, False), (1.03, True)):
        gyro = scale * good.gyro_rad_s(raw[GYRO].to_numpy())
        motion = estimate_hinge(
            raw["device_s"], gyro, good.accel_m_s2(raw[ACCEL].to_numpy()), certificate=good
        )
        assert any(fact.kind == HingeFact.UNUSUAL_SCALE for fact in motion.warnings) is reported
