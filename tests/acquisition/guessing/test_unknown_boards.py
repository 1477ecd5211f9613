"""Boards of protocols that nobody described: what is found of them, and that what is found decodes to the truth."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from feltload.acquisition import decode, load_rig, rig_text
from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.guess import guess_description
from feltload.acquisition.wire.descriptions.link_config import SerialLinkConfig
from unknown_boards import arrivals, crc, motion, slip, sum_8, words, xor_8

COUNT = 500
MOTION = motion(COUNT)


def kinds(stream):
    return {fact.kind for fact in stream.facts}


def as_written(tmp_path, guess):
    """Streams of the guess as its rig file gives them back."""
    path = tmp_path / "rig.toml"
    path.write_text(
        rig_text([(SerialLinkConfig(port="/dev/ttyUSB7"), item) for item in guess.streams], {0: ["a note"]})
    )
    return load_rig(path).streams


def assert_inertial(frame, skip=0):
    """The decoded sensor against what it felt: 9.80665 m/s2 per g, pi/180 per degree."""
    accel = np.stack([frame[f"accel_{axis}_m_s2"] for axis in "xyz"])
    gyro = np.stack([frame[f"gyro_{axis}_rad_s"] for axis in "xyz"])
    count = accel.shape[1]
    assert accel == pytest.approx(MOTION.accel_g[:, skip : skip + count] * 9.80665, abs=0.03)
    assert gyro == pytest.approx(np.radians(MOTION.gyro_deg_s[:, skip : skip + count]), abs=0.01)


def test_sixteen_bytes_behind_aa_55_with_damage(tmp_path):
    check = crc("CRC16-IBM-3740", 2)
    force = words(MOTION.force_n, 80.0)
    frames = []
    for k in range(COUNT):
        body = b"\xaa\x55" + struct.pack("<HIi", k, 1_234_567 + k * 10_000 + k % 7, force[k]) + b"\0\0"
        frames.append(body + check(body))
    messages = arrivals(frames, damage=0.03)
    guess = guess_description(messages)
    assert (guess.framing, guess.frames[0].size, guess.frames[0].checksum) == ("sync", 16, "CRC-16/IBM-3740")
    (stream,) = as_written(tmp_path, guess)
    assert (stream.kind, stream.sync, stream.checksum.name) == ("force", "AA 55", "CRC-16/IBM-3740")
    assert stream.field("device_time").unit == "us"
    found = decode(messages, stream).frame
    assert found["force_counts"].tolist() == [force[int(k)] for k in found["seq"]]
    assert len(found) > 0.93 * COUNT
    assert {GuessFact.CLOCK_FOUND, GuessFact.COUNTER_FOUND, GuessFact.FORCE_IN_COUNTS} <= kinds(
        guess.streams[0]
    )


def test_big_endian_axes_with_a_clock_that_wraps_in_sight(tmp_path):
    check = crc("CRC8-MAXIM-DOW", 1)
    accel, gyro = words(MOTION.accel_g, 8192.0), words(MOTION.gyro_deg_s, 16.384)
    frames = []
    for k in range(COUNT):
        body = bytes([0x7E, 17]) + struct.pack(">HB", (k * 10 + 77) % 3000, k & 0xFF)
        body += struct.pack(">6h", *accel[k], *gyro[k])
        frames.append(body + check(body[1:]))
    messages = arrivals(frames)
    guess = guess_description(messages)
    (stream,) = as_written(tmp_path, guess)
    assert (stream.checksum.name, stream.checksum.skip) == ("CRC-8/MAXIM-DOW", 1)
    assert (stream.field("device_time").unit, stream.field("device_time").wrap) == ("ms", 3000)
    assert GuessFact.CLOCK_WRAP_SEEN in kinds(guess.streams[0])
    figures = {fact.kind: fact.figures for fact in guess.streams[0].facts}
    assert figures[GuessFact.GRAVITY_FOUND]["full_scale_g"] == 4
    assert figures[GuessFact.TURN_RATE_FOUND]["full_scale_deg_s"] == 2000
    out = decode(messages, stream)
    assert len(out.frame) == COUNT
    assert (out.health.resets, out.health.lost, out.health.bad_checksum) == (0, 0, 0)
    assert_inertial(out.frame)


def test_slip_with_floats_and_a_sum(tmp_path):
    frames = []
    for k in range(COUNT):
        body = struct.pack("<If", 50_000 + k * 10, MOTION.force_n[k])
        frames.append(slip(body + sum_8(body)))
    messages = arrivals(frames)
    guess = guess_description(messages)
    (stream,) = as_written(tmp_path, guess)
    assert (stream.framing, stream.checksum.name, stream.field("force").type) == ("slip", "SUM-8", "f32")
    # The first frame after an opening may be cut, but was not.
    assert decode(messages, stream).frame["force_counts"].to_numpy() == pytest.approx(
        MOTION.force_n, rel=1e-6
    )


def test_two_kinds_of_frame_behind_one_word(tmp_path):
    check = crc("CRC16-MODBUS", 2)
    accel, gyro = words(MOTION.accel_g, 2048.0), words(MOTION.gyro_deg_s, 32.768)
    force = words(MOTION.force_n, 500.0)
    frames = []
    for k in range(COUNT):
        for body in (
            b"\xa5\x5a\x01" + struct.pack("<Ii", k * 10_000, force[k]),
            b"\xa5\x5a\x02" + struct.pack("<I6h", k * 10_000 + 300, *gyro[k], *accel[k]),
        ):
            frames.append(body + check(body))
    messages = arrivals(frames, 200.0)
    guess = guess_description(messages)
    streams = {stream.kind: stream for stream in as_written(tmp_path, guess)}
    assert set(streams) == {"force", "inertial"}
    out = decode(messages, streams["force"], siblings=[streams["inertial"]])
    assert (len(out.frame), out.health.ignored_frames, out.health.bad_frames) == (COUNT, COUNT, 0)
    assert_inertial(decode(messages, streams["inertial"], siblings=[streams["force"]]).frame)


def test_several_readings_of_24_bits_in_a_frame(tmp_path):
    fast = motion(4 * 300, 400.0)
    force = words(fast.force_n, 2000.0)
    frames = []
    for k in range(300):
        body = b"\xc0\xde" + struct.pack(">H", k * 10)
        body += b"".join(value.to_bytes(3, "big", signed=True) for value in force[4 * k : 4 * k + 4])
        frames.append(body + xor_8(body[2:]))
    messages = arrivals(frames)
    (stream,) = as_written(tmp_path, guess_description(messages))
    assert (stream.checksum.name, stream.checksum.skip, stream.frame_bytes) == ("XOR-8", 2, 17)
    out = decode(messages, stream).frame
    assert out["force_counts"].tolist() == force
    assert np.diff(out["device_s"]) == pytest.approx(0.0025)


def test_length_prefixed_frames_of_two_lengths(tmp_path):
    check = crc("CRC32-ISO-HDLC", 4)
    accel, gyro = words(MOTION.accel_g, 4096.0), words(MOTION.gyro_deg_s, 65.536)
    force = words(MOTION.force_n, 100.0)
    frames = []
    for k in range(COUNT):
        for body in (struct.pack("<Ii", k * 10, force[k]), struct.pack("<I6h", k * 10, *accel[k], *gyro[k])):
            head = b"\xfe\xed" + struct.pack("<H", len(body))
            frames.append(head + body + check(head + body))
    messages = arrivals(frames, 200.0)
    guess = guess_description(messages)
    streams = {stream.kind: stream for stream in as_written(tmp_path, guess)}
    assert {stream.length_adds for stream in streams.values()} == {8}
    assert len(decode(messages, streams["force"], siblings=[streams["inertial"]]).frame) == COUNT
    assert_inertial(decode(messages, streams["inertial"], siblings=[streams["force"]]).frame)


def test_a_polynomial_of_ones_own_with_a_closing_line_end(tmp_path):
    import anycrc

    own = anycrc.CRC(16, 0x6F63, 0x1234, False, False, 0x4321)
    force = words(MOTION.force_n, 80.0)
    frames = []
    for k in range(COUNT):
        body = b"\x55\xd1" + struct.pack(">IHi", k * 10_000, k, force[k])
        frames.append(body + int(own.calc(body)).to_bytes(2, "big") + b"\r\n")
    messages = arrivals(frames, damage=0.03)
    (stream,) = as_written(tmp_path, guess_description(messages))
    assert (stream.sync, stream.end, stream.checksum.poly) == ("55 D1", "0D 0A", 0x6F63)
    found = decode(messages, stream).frame
    assert found["force_counts"].tolist() == [force[int(k)] for k in found["seq"]]


def test_sentences_with_a_star_and_two_digits(tmp_path):
    frames = []
    for k in range(COUNT):
        text = f"FLF,{9000 + k * 10},{MOTION.force_n[k]:.2f}"
        frames.append(f"${text}*{xor_8(text.encode()).hex().upper()}\r\n".encode())
    messages = arrivals(frames)
    (stream,) = as_written(tmp_path, guess_description(messages))
    assert (stream.framing, stream.prefix, stream.checksum.name) == ("lines", "$", "XOR-8")
    assert stream.field("device_time").wrap == 2**32
    out = decode(messages, stream)
    assert out.frame["force_counts"].to_numpy() == pytest.approx(MOTION.force_n[1:], abs=0.006)


def test_a_sensor_that_is_not_turned_leaves_its_scale_open():
    still = np.random.default_rng(2)
    check = crc("CRC16-XMODEM", 2)
    frames = []
    for k in range(COUNT):
        axes = np.round([*still.normal(0, 4, 3), *(np.array([0, 0, 8192]) + still.normal(0, 15, 3))]).astype(
            int
        )
        body = b"\xa0\x0a" + struct.pack("<I6h", k * 10_000, *axes)
        frames.append(body + check(body))
    (stream,) = guess_description(arrivals(frames)).streams
    assert GuessFact.TURN_RATE_UNKNOWN in kinds(stream)
    assert stream.description.field("gyro_x").unit == "counts"
    assert stream.description.field("accel_x").scale == pytest.approx(1 / 8192)


def test_nothing_is_found_in_noise():
    rng = np.random.default_rng(6)
    guess = guess_description([(k * 10_000_000, rng.bytes(40)) for k in range(500)])
    assert (guess.framing, guess.streams) == (None, ())
