"""Scale and cross-axis terms of a gyro from turns by hand: against truth, and against a plain minimisation."""

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from feltload.acquisition.certificates.certificate import certificate_json, parse_certificate
from feltload.app.pages.certificate.page import certificate_page
from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.accelerometer import calibrate_accelerometer
from feltload.calibration.inertial.attitudes import distinct, find_attitudes
from feltload.calibration.inertial.certificate import calibrate_inertial
from feltload.calibration.inertial.facts import InertialCertificateFact, TurnRemark
from feltload.calibration.inertial.gyro import GYRO_PARAMETERS, calibrate_gyro
from feltload.calibration.inertial.turns import KnownTurn, find_turns, orientation
from feltload.calibration.weights.gravity import Gravity
from feltload.emulator.sensors.handled import G, faces_and_tilts, handle

RATE = 100.0
NOISE = 0.0015
STORED = Path(__file__).parents[2] / "acquisition" / "stored"
PLACES = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1))


class Sensor:
    """An invented sensor: true = matrix @ (raw - offset) for both."""

    def __init__(self, seed):
        rng = np.random.default_rng([seed, 7])
        self.rng = rng
        self.gyro = np.eye(3) + rng.normal(0, 0.008, (3, 3))
        self.bias = rng.normal(0, 0.01, 3)
        self.accel = np.diag(1 + rng.normal(0, 0.01, 3))
        self.accel[np.triu_indices(3, 1)] = rng.normal(0, 0.004, 3)
        self.offset = rng.normal(0, 0.2, 3)

    def reads(self, truth):
        rate = np.linalg.solve(self.gyro, truth.rate_rad_s.T).T + self.bias
        force = np.linalg.solve(self.accel, truth.force_m_s2.T).T + self.offset
        return (
            rate + self.rng.normal(0, NOISE, rate.shape),
            force + self.rng.normal(0, 0.015, force.shape),
        )


def calibrated(seed, truth, stated=()):
    sensor = Sensor(seed)
    rate, force = sensor.reads(truth)
    still = find_attitudes(truth.time_s, rate, force)
    accel = calibrate_accelerometer(
        [item.accel_m_s2 for item in distinct(still)], Gravity(G, 1e-4, "invented")
    )
    rests = np.array([item.gyro_rad_s for item in still])
    bias = np.average(rests, axis=0, weights=[item.samples for item in still])
    turns = find_turns(truth.time_s, rate - bias, still, stated)
    found = calibrate_gyro(
        turns, accel, u_bias_rad_s=rests.std(axis=0, ddof=1), density_rad_s_rthz=NOISE / RATE**0.5
    )
    error = np.array([found.matrix[place] - sensor.gyro[place] for place in PLACES])
    return found, error, turns, accel


def test_nine_numbers_from_laying_it_on_its_faces():
    """No angle is known: what is done for the accelerometer anyway tells the gyro to a twentieth of its 1 %."""
    ratios = []
    for seed in range(8):
        found, error, turns, _ = calibrated(seed, handle(faces_and_tilts(seed), seed=seed))
        assert len(turns) == 16 and all(item.used for item in found.turns)
        assert found.scale_found.all() and found.cross_found
        assert np.abs(error).max() < 2e-3
        u = np.sqrt(np.diag(found.covariance))
        assert u.max() < 1e-3 and np.median(u) < 6e-4
        ratios.append(error / u)
    # 72 errors: their root mean square over u is 1 if u is right; the bounds are its 99.9 % range and a share for
    # the direction of gravity, which is taken as no better known than 0.03 degrees.
    assert 0.4 < np.sqrt(np.mean(np.square(ratios))) < 1.28
    assert np.mean(np.abs(ratios) < 2) > 0.9


def test_against_a_plain_minimisation_with_another_integration():
    """The objective of Tedaldi et al. 2014 (from memory), with SciPy's rotations and its numeric derivatives."""
    found, _, turns, accel = calibrated(3, handle(faces_and_tilts(3), seed=3))

    def miss(values):
        matrix = np.zeros((3, 3))
        for value, place in zip(values, PLACES, strict=True):
            matrix[place] = value
        out = []
        for turn in turns:
            rate = turn.rate_rad_s @ matrix.T
            middle = 0.5 * (rate[1:] + rate[:-1]) * np.diff(turn.time_s)[:, None]
            attitude = Rotation.identity()
            for step in middle:
                attitude = attitude * Rotation.from_rotvec(step)
            ends = [
                accel.matrix @ (item.accel_m_s2 - accel.offset_m_s2) for item in (turn.before, turn.after)
            ]
            before, after = (end / np.linalg.norm(end) for end in ends)
            out.append(after - attitude.inv().apply(before))
        return np.concatenate(out)

    plain = least_squares(miss, [1.0] * 3 + [0.0] * 6).x
    ours = np.array([found.matrix[place] for place in PLACES])
    # Their weights differ a little (longer turns count less here), so they agree within the uncertainty.
    assert np.abs(plain - ours).max() < 0.5 * np.sqrt(np.diag(found.covariance)).max()


def test_attitude_of_a_coning_motion_in_closed_form():
    """A gyro whose axis goes round a cone: the attitude is known exactly (two rotations one after the other)."""
    time = np.arange(201) / 100.0
    spin, nod = 2.0, 5.0
    attitude = Rotation.from_rotvec(np.outer(spin * time, [0, 0, 1])) * Rotation.from_rotvec(
        np.outer(nod * time, [1, 0, 0])
    )
    # Body rate of R = Rz(spin t) Rx(nod t): Rx^T (0, 0, spin) + (nod, 0, 0).
    rate = np.column_stack([np.full(time.size, nod), spin * np.sin(nod * time), spin * np.cos(nod * time)])
    got = orientation(time, rate)
    assert np.abs(got - attitude.as_matrix()).max() < 2e-5


def test_stated_turn_about_the_vertical_tells_what_gravity_does_not():
    moves = [([0, 0, 2 * np.pi], 4.0), ([np.pi / 2, 0, 0], 1.4), ([-np.pi / 2, 0, 0], 1.4)]
    truth = handle(moves, seed=1, tremor=0.005)
    start, end = truth.moves[0]
    without, *_ = calibrated_few(1, truth)
    assert not without.scale_found[2]
    assert without.turns[0].remark is TurnRemark.ABOUT_VERTICAL
    known = KnownTurn(start - 0.5, end + 0.5, 2 * np.pi, np.radians(0.3))
    found, error, _, _ = calibrated_few(1, truth, [known])
    u = np.sqrt(np.diag(found.covariance))
    assert u[2] == pytest.approx(0.3 / 360, rel=0.1)
    assert abs(error[2]) < 3 * u[2]
    assert found.turns[0].angle_rad == pytest.approx(2 * np.pi, abs=3 * u[2] * 2 * np.pi)


def calibrated_few(seed, truth, stated=()):
    """Of a recording with too few attitudes for the accelerometer, which is taken from a full one."""
    sensor = Sensor(seed)
    rate, force = sensor.reads(truth)
    accel = calibrated(seed, handle(faces_and_tilts(seed), seed=seed))[3]
    still = find_attitudes(truth.time_s, rate, force)
    turns = find_turns(truth.time_s, rate - sensor.bias, still, stated)
    found = calibrate_gyro(turns, accel, u_bias_rad_s=np.full(3, 1e-4), density_rad_s_rthz=NOISE / RATE**0.5)
    error = np.array([found.matrix[place] - sensor.gyro[place] for place in PLACES])
    return found, error, turns, accel


def test_angles_stated_against_the_same_marks_are_wrong_together():
    """Ten turns against one mark that is 0.5 degrees off leave half a degree, not a third of it."""
    moves = [([0, 0, 2 * np.pi * (-1) ** k], 4.0) for k in range(10)]
    truth = handle(moves, seed=2, tremor=0.005)
    stated = [KnownTurn(a - 0.5, b + 0.5, 2 * np.pi, np.radians(0.5)) for a, b in truth.moves]
    found, *_ = calibrated_few(2, truth, stated)
    assert np.sqrt(found.covariance[2, 2]) == pytest.approx(0.5 / 360, rel=0.1)


def test_turns_that_cannot_be_right_are_left_out_and_named():
    """A clipped gyro in one turn, missing samples in another: the rest still tell."""
    truth = handle(faces_and_tilts(4), seed=4)
    sensor = Sensor(4)
    rate, force = sensor.reads(truth)
    clipped = (truth.time_s > truth.moves[9][0]) & (truth.time_s < truth.moves[9][1])
    rate[clipped] = np.clip(rate[clipped], -0.6, 0.6)
    a = truth.moves[6][0]
    lost = (truth.time_s > a + 0.4) & (truth.time_s < a + 0.6)
    time, rate, force = truth.time_s[~lost], rate[~lost], force[~lost]
    got = certificate(time, rate, force)
    left_out = [turn for turn in got.turns if not turn.used]
    assert [turn.start_s for turn in left_out] == pytest.approx([a, truth.moves[9][0]], abs=0.4)
    assert [item.remark for item in left_out[:2]] == [
        TurnRemark.SAMPLES_MISSING,
        TurnRemark.GRAVITY_ELSEWHERE,
    ]
    (refused,) = [fact for fact in got.warnings if fact.kind == InertialCertificateFact.TURNS_NOT_USED]
    assert (refused.figures["not_used"], refused.figures["turns"]) == (2, 16)
    assert np.abs(np.array(got.gyro_matrix) - sensor.gyro).max() < 2e-3


class Samples:
    """What calibration asks of a recording: names of streams, and samples of one."""

    def __init__(self, frame):
        self.frame = frame

    def streams_of(self, kind):
        return ("imu",) if kind == "inertial" else ()

    def stream(self, name, *, raw):
        return self.frame


def certificate(time, rate, force, **options):
    names = [f"gyro_{k}_rad_s" for k in "xyz"] + [f"accel_{k}_m_s2" for k in "xyz"]
    frame = pd.DataFrame(np.hstack([rate, force]), columns=names)
    frame = frame.assign(host_s=time, device_s=time, seq=np.round(time * RATE))
    return calibrate_inertial(
        Samples(frame), serial="I-1", date=dt.date(2026, 3, 2), latitude_rad=0.91, **options
    )


def test_certificate_carries_the_matrix_its_uncertainty_and_the_turns():
    truth = handle(faces_and_tilts(5), seed=5)
    sensor = Sensor(5)
    got = certificate(truth.time_s, *sensor.reads(truth))
    assert got.parameter_names[12:] == list(GYRO_PARAMETERS)
    for name, place in zip(GYRO_PARAMETERS, PLACES, strict=True):
        assert abs(got.gyro_matrix[place[0]][place[1]] - sensor.gyro[place]) < 3 * got.u(name)
    covariance = np.array(got.parameter_covariance)
    assert np.allclose(covariance, covariance.T)
    assert np.linalg.eigvalsh(covariance).min() > 0
    assert len(got.turns) == 16
    assert InertialCertificateFact.SCALE_NOT_CALIBRATED not in [fact.kind for fact in got.warnings]
    assert parse_certificate(certificate_json(got)) == got
    # Applied, it leaves a rate that is true in all three axes.
    rate = got.gyro_rad_s(sensor.reads(truth)[0])
    moving = np.linalg.norm(truth.rate_rad_s, axis=1) > 0.5
    assert np.abs((rate - truth.rate_rad_s)[moving].mean(axis=0)).max() < 2e-3
    page = certificate_page(got)
    for wanted in (
        "Cross-axis terms in percent: xy",
        "Turns from rest to rest",
        "carries gravity from rest to rest",
    ):
        assert wanted in page


def test_a_turn_to_be_stated_is_proposed_ready_to_be_typed():
    """Faces reached by turns about x and y only, and one turn about the vertical."""
    right = np.pi / 2
    moves = [([0, 0, np.pi], 3.0)]
    moves += [([right, 0, 0], 1.5)] * 4 + [([0, right, 0], 1.5)] * 4
    truth = handle(moves, seed=6, tremor=0.0)
    got = certificate(truth.time_s, *Sensor(6).reads(truth))
    (note,) = got.notes
    assert note.kind == InertialCertificateFact.TURN_WORTH_STATING
    assert (note.figures["axis"], note.figures["probably_deg"]) == ("z", 180.0)
    (doubt,) = [fact for fact in got.warnings if fact.kind == InertialCertificateFact.SCALE_NOT_CALIBRATED]
    assert doubt.figures["axes"] == "z"


@pytest.mark.parametrize(
    ("known", "said"),
    [
        (KnownTurn(500.0, 501.0, 1.0, 0.01), "no samples between 500 s and 501 s"),
        (KnownTurn(1.0, 5.5, np.radians(120), 0.01), "is stated as 120.0°, and the gyro turned 88"),
    ],
)
def test_a_stated_turn_that_was_none(known, said):
    truth = handle([([np.pi / 2, 0, 0], 1.4), ([0, np.pi / 2, 0], 1.4)], seed=1, tremor=0.005)
    with pytest.raises(AttitudesError, match=said):
        calibrated_few(1, truth, [known])


def test_certificate_of_before_there_were_turns_is_read_and_shown():
    text = (STORED / "inertial-certificate-without-turns.json").read_text(encoding="utf-8")
    got = parse_certificate(text)
    assert got.turns == []
    assert "gyro_misalignment_xy" not in got.parameter_names
    assert got.gyro_matrix[2][2] == pytest.approx(1 / 0.98, abs=1e-3)
    assert "Cross-axis" not in certificate_page(got)
