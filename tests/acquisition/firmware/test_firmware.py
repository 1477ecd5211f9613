"""The reference firmware's own code under MicroPython, byte for byte against the host's decoder."""

from __future__ import annotations

import binascii
import os
import select
import struct
import subprocess
import sys
import tty
from pathlib import Path

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.reading import load_stream_description

HERE = Path(__file__).parent
FIRMWARE = HERE.parents[2] / "firmware"

pytestmark = pytest.mark.needs("micropython", "pty")


def micropython(script: str, *arguments: str, stdout: int = subprocess.PIPE) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "micropython_unix", str(HERE / script), *arguments],
        stdin=subprocess.PIPE,
        stdout=stdout,
        env={**os.environ, "MICROPYPATH": str(FIRMWARE)},
    )


def output(script: str, *arguments: str, lines: list[str] | None = None) -> str:
    process = micropython(script, *arguments)
    text, _ = process.communicate("".join(f"{line}\n" for line in lines or []).encode(), timeout=30)
    assert process.returncode == 0
    return text.decode()


def sent_over_a_pty(*arguments: str) -> bytes:
    """All that the board sends, through a real pty in raw mode."""
    board, host = os.openpty()
    tty.setraw(host)
    tty.setraw(board)
    process = micropython("stand_in_board.py", *arguments, stdout=board)
    process.stdin.close()
    received = bytearray()
    # The board's end stays open here too: closing it would throw away what is still on its way.
    while (
        select.select([host], [], [], 0.0 if process.poll() is not None else 0.1)[0] or process.poll() is None
    ):
        if select.select([host], [], [], 0.1)[0]:
            received += os.read(host, 4096)
    os.close(board)
    os.close(host)
    assert process.wait(30) == 0
    return bytes(received)


def expected_force(count: int) -> int:
    return (count * 65537) % 0x1000000 - 0x800000


def expected_axes(count: int) -> list[int]:
    return [(count * (axis + 1) * 37) % 65536 - 32768 for axis in range(6)]


def test_checksum_and_stuffing() -> None:
    """CRC catalogue's check value; runs and zeros against the cobs package (Cheshire & Baker 1999)."""
    generator = np.random.default_rng(3)
    vectors = [
        b"123456789",
        b"",
        b"\x00",
        b"\x00\x00",
        bytes(range(1, 255)),
        bytes(range(1, 256)),
        bytes(600),
    ]
    vectors += [b"\x11" * 253, b"\x11" * 254, b"\x11" * 255, b"\x11" * 508 + b"\x00"]
    vectors += [generator.integers(0, 4, size).astype(np.uint8).tobytes() for size in range(1, 60)]
    vectors = [vector for vector in vectors if vector]
    lines = output("protocol_vectors.py", lines=[vector.hex() for vector in vectors]).splitlines()
    assert lines[0].startswith("0x29b1 ")  # CRC-16/IBM-3740 of "123456789", CRC catalogue
    for vector, line in zip(vectors, lines, strict=True):
        crc, stuffed = line.split()
        assert int(crc, 16) == binascii.crc_hqx(vector, 0xFFFF)
        assert cobs.decode(bytes.fromhex(stuffed)) == vector
        assert "00" not in [stuffed[i : i + 2] for i in range(0, len(stuffed), 2)]
        if len(vector) < 254:
            assert bytes.fromhex(stuffed) == cobs.encode(vector)


def test_schedule() -> None:
    beat, stall, clock, batches = output("schedule_check.py").strip().split("\n")
    assert beat == "[0, 1, 2, 3, 4, 5, 6, 7, 8, 9] 0"
    # 37.5 ms after the last sample's beat: three beats are gone, the sequence counts them.
    assert stall == "13 3"
    assert clock == "7"
    assert batches == (
        r"[None, None, (0, 0, [b'\x00', b'\x01', b'\x02']), None, (3, 30, [b'\x03']), None, "
        r"(5, 50, [b'\x05', b'\x06', b'\x07'])]"
    )


def test_force_frames_byte_for_byte() -> None:
    received = sent_over_a_pty("force", "500", "300", "serial")
    decoded = decode([(0, received)], load_stream_description("reference-force"))
    frame, health = decoded.frame, decoded.health
    assert health.samples == 300
    assert health.bad_checksum == health.bad_frames == 0
    counts = [count for count in range(1, 400) if count % 50][:300]
    assert frame["force_counts"].to_list() == [expected_force(count) for count in counts]
    # A conversion that was not ready is a number left out.
    assert health.gaps >= 6
    rebuilt = b""
    for seq, device_s, count in zip(frame["seq"], frame["device_s"], counts, strict=True):
        payload = struct.pack("<BHIi", 0x46, int(seq), round(device_s * 1e6), expected_force(count))
        rebuilt += cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\x00"
    assert received == rebuilt
    assert np.median(np.diff(frame["device_s"])) == pytest.approx(1 / 500, rel=0.1)


def test_inertial_frames() -> None:
    received = sent_over_a_pty("inertial", "1000", "500", "serial")
    description = load_stream_description("reference-inertial")
    decoded = decode([(0, received)], description)
    assert decoded.health.samples == 500
    assert decoded.health.bad_checksum == decoded.health.bad_frames == 0
    for axis, name in enumerate(["gyro_x", "gyro_y", "gyro_z", "accel_x", "accel_y", "accel_z"]):
        column = next(column for column in decoded.frame.columns if column.startswith(name))
        raw = [expected_axes(count)[axis] for count in range(1, 501)]
        factor = description.field(name).si_factor
        np.testing.assert_allclose(decoded.frame[column], np.array(raw) * factor, rtol=1e-12)


@pytest.mark.parametrize("kind", ["force", "inertial"])
def test_notifications(kind: str) -> None:
    lines = output("stand_in_board.py", kind, "200", "120", "ble").split()
    messages = [(index, bytes.fromhex(line)) for index, line in enumerate(lines)]
    assert max(len(data) for _, data in messages) <= 180
    decoded = decode(messages, load_stream_description(f"reference-ble-{kind}"))
    health = decoded.health
    assert health.bad_checksum == health.bad_frames == 0
    assert health.samples == sum(data[7] for _, data in messages) >= 84
    if kind == "force":
        counts = [count for count in range(1, 200) if count % 50][: health.samples]
        assert decoded.frame["force_counts"].to_list() == [expected_force(count) for count in counts]


def constants(name: str) -> dict[str, object]:
    """Constants at the top of a firmware module that needs no board."""
    values: dict[str, object] = {}
    exec(compile((FIRMWARE / name).read_text(encoding="utf-8"), name, "exec"), values)
    return values


@pytest.mark.parametrize("kind", ["force", "inertial"])
def test_descriptions_state_what_the_firmware_does(kind: str) -> None:
    """Kind byte, identifiers and names over the air, ranges and rate stand in both places, and agree."""
    protocol, settings = constants("protocol.py"), constants("settings.py")
    code = protocol[kind.upper()]
    cable, air = (
        load_stream_description(f"reference-{kind}"),
        load_stream_description(f"reference-ble-{kind}"),
    )
    assert air.link.service == protocol["SERVICE"]
    assert air.link.characteristic == protocol["CHARACTERISTICS"][code]
    assert air.link.device_name == settings["NAME"].replace("force", kind)
    for description in (cable, air):
        assert description.field("frame_kind").equals == code
        if kind == "force":
            assert description.rate_hz == settings["RATE_HZ"]
            continue
        for axis in "xyz":
            assert description.field(f"gyro_{axis}").unit == "deg/s"
            assert description.field(f"gyro_{axis}").scale * 32768 == protocol["GYRO_RANGE_DEG_S"]
            assert description.field(f"accel_{axis}").unit == "g"
            assert description.field(f"accel_{axis}").scale * 32768 == protocol["ACCEL_RANGE_G"]
    # The peripheral takes its identifiers from there; it runs on the board only.
    assert "UUID(CHARACTERISTICS[kind])" in (FIRMWARE / "ble_out.py").read_text(encoding="utf-8")
