"""An inertial certificate from a real recording: bytes of the wire protocol in an MCAP file, by the command."""

import binascii
import struct

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.certificates.certificate import parse_certificate
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.app.cli import main
from feltload.emulator.sensors.handled import faces_and_tilts, handle

RATE = 100.0
GYRO_LSB = np.radians(1000 / 32768)
ACCEL_LSB = 4 * 9.80665 / 32768
BIAS = np.array([0.012, -0.02, 0.006])
OFFSET = np.array([0.11, -0.2, 0.28])
MATRIX = np.array([[1.008, 0.003, -0.002], [0, 0.99, 0.004], [0, 0, 1.012]])
GYRO = np.array([[1.015, 0.004, -0.006], [-0.003, 0.99, 0.005], [0.002, 0.007, 1.008]])


def poses():
    """A person's hand laying the sensor on its faces and on tilted ones; the turn about the vertical among them."""
    moves = faces_and_tilts(11)
    truth = handle(moves, seed=11, first_s=70.0, still_s=3.0)
    start, end = truth.moves[7]
    return truth.rate_rad_s, truth.force_m_s2, (start - 1.0, end + 1.0)


@pytest.fixture
def recorded(tmp_path):
    rng = np.random.default_rng(11)
    rate, force, turn = poses()
    gyro = np.linalg.solve(GYRO, rate.T).T + BIAS + rng.normal(0, 0.0015, rate.shape)
    accel = np.linalg.solve(MATRIX, force.T).T + OFFSET + rng.normal(0, 0.015, force.shape)
    counts = np.round(np.hstack([gyro / GYRO_LSB, accel / ACCEL_LSB])).astype(int)
    imu = load_stream_description("reference-inertial", changes={"rate_hz": RATE})
    info = RecordingInfo(
        load_kg=0.0,
        rig=RigDescription(name="invented poses", streams=(imu,)),
        notes="invented",
        started_utc="2026-03-02T10:00:00+00:00",
    )
    path = tmp_path / "poses.mcap"
    with RecordingWriter(path, info) as writer:
        for seq, row in enumerate(counts):
            device_us = int(seq * 1e6 / RATE)
            payload = struct.pack("<BHI6h", 0x49, seq & 0xFFFF, device_us, *row.tolist())
            # crc_hqx with this start value is the catalogue's CRC-16/IBM-3740.
            payload += struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))
            late_ns = int(rng.exponential(2e6))
            writer.write(
                "inertial", 5_000_000_000 + device_us * 1000 + late_ns, cobs.encode(payload) + b"\x00"
            )
    return path, turn


def calibrate(path, out, *more):
    place = ("--latitude", "52.2 deg", "--height", "20 m")
    return main(["calibrate", "inertial", str(path), "--serial", "I-7", *place, "--out", str(out), *more])


def test_from_recorded_poses_to_certificate_and_page(tmp_path, recorded, capsys):
    path, (begin, end) = recorded
    before = path.read_bytes()
    turn = ("--turn", f"{begin:.1f} s, {end:.1f} s, 180.0(0.2) deg", "--by", "A. Bench", "--place", "lab")
    assert calibrate(path, tmp_path / "imu.json", *turn) == 0, capsys.readouterr().err
    assert path.read_bytes() == before
    got = parse_certificate((tmp_path / "imu.json").read_text(encoding="utf-8"))
    assert got.calibrated_on.isoformat() == "2026-03-02"
    names = [f"accel_offset_{axis}" for axis in "xyz"] + [f"accel_scale_{axis}" for axis in "xyz"]
    names += [f"accel_misalignment_{pair}" for pair in ("xy", "xz", "yz")] + [f"gyro_bias_{a}" for a in "xyz"]
    found = [*got.accel_offset_m_s2, *np.diag(got.accel_matrix)]
    found += [got.accel_matrix[0][1], got.accel_matrix[0][2], got.accel_matrix[1][2], *got.gyro_bias_rad_s]
    truth = [*OFFSET, *np.diag(MATRIX), MATRIX[0, 1], MATRIX[0, 2], MATRIX[1, 2], *BIAS]
    for name, value, true in zip(names, found, truth, strict=True):
        assert abs(value - true) < 4 * got.u(name) + 1e-4, name
    assert np.abs(np.array(got.gyro_matrix) - GYRO).max() < 1.5e-3
    # Better than the stated turn alone would tell it.
    assert got.u("gyro_scale_z") < 0.2 / 180
    said = capsys.readouterr().out
    assert "Turn 8: " in said and "stated 180.0°, used" in said
    assert said.count("used") == 16
    assert len(got.attitudes) >= 12
    assert got.noise.gyro_white_rad_s_rthz == pytest.approx([1.5e-3 / RATE**0.5] * 3, rel=0.1)
    page = (tmp_path / "imu.html").read_text(encoding="utf-8")
    for wanted in (
        "Inertial sensor",
        "I-7",
        "A. Bench",
        f"{len(got.attitudes)} still attitudes",
        "Cross-axis terms in percent",
        "Turns from rest to rest",
        "<svg",
        "k = 2",
    ):
        assert wanted in page


def test_applied_to_the_recording_it_makes_the_sensor_true(tmp_path, recorded):
    path, (begin, end) = recorded
    turn = ("--turn", f"{begin:.1f} s, {end:.1f} s, 180.0(0.2) deg")
    assert calibrate(path, tmp_path / "imu.json", *turn) == 0
    text = (tmp_path / "imu.json").read_text(encoding="utf-8")
    corrected = read_recording(path, certificates={"inertial": text}).stream("inertial")
    lying = corrected["host_s"].between(5, 60)
    size = np.linalg.norm(corrected.loc[lying].filter(like="accel").to_numpy().mean(axis=0))
    assert size == pytest.approx(parse_certificate(text).gravity_m_s2, abs=2e-3)
    assert np.abs(corrected.loc[lying].filter(like="gyro").to_numpy().mean(axis=0)).max() < 2e-4


@pytest.mark.parametrize(
    ("turn", "wanted"),
    [
        ("12 s, 180 deg", "is no turn"),
        ("5000 s, 5001 s, 180(1) deg", "no samples between"),
        ("1 s, 5 s, 0 deg", "--turn"),
    ],
)
def test_a_turn_that_cannot_be_used(tmp_path, recorded, capsys, turn, wanted):
    assert calibrate(recorded[0], tmp_path / "imu.json", "--turn", turn) == 2
    assert wanted in capsys.readouterr().err
    assert not (tmp_path / "imu.json").exists()
