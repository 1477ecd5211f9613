"""One sensor on a cable and one over the air in one recording: a real pty, and bleak on a private bus."""

from __future__ import annotations

import asyncio
import binascii
import struct
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.links.reconnection import BackOff
from feltload.acquisition.recorder.channel_reader import Patience
from feltload.acquisition.recorder.recorder import Recorder
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.status import RecordingStatus
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription

ADDRESS = "02:00:5E:00:53:0B"
FORCE_HZ, INERTIAL_HZ, BATCH = 80, 200, 14


def with_check(payload: bytes) -> bytes:
    # crc_hqx with this start value is the catalogue's CRC-16/IBM-3740.
    return payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))


def notification(number: int) -> bytes:
    """180 bytes: 14 samples of six axes."""
    first = number * BATCH
    head = struct.pack(
        "<BHIBH", ord("I"), first & 0xFFFF, first * 1_000_000 // INERTIAL_HZ, BATCH, 1_000_000 // INERTIAL_HZ
    )
    samples = b"".join(
        struct.pack("<6h", *((first + k + axis) % 30_000 for axis in range(6))) for k in range(BATCH)
    )
    return with_check(head + samples)


def test_cable_and_air_in_one_recording(board, bluetooth, tmp_path: Path) -> None:
    rig = RigDescription(
        streams=(
            load_stream_description("reference-force", changes={"link": {"port": str(board.port)}}),
            load_stream_description("reference-ble-inertial"),
        )
    )
    link = rig.stream("inertial").link
    bluetooth.order(
        "add",
        address=ADDRESS,
        name=link.device_name,
        characteristic=link.characteristic,
        payloads=[notification(number).hex() for number in range(400)],
        rate_hz=INERTIAL_HZ / BATCH,
    )
    halt = threading.Event()

    def talk() -> None:
        start, seq = time.monotonic(), 0
        while not halt.is_set():
            payload = struct.pack("<BHIi", ord("F"), seq & 0xFFFF, seq * 1_000_000 // FORCE_HZ, 5000 + seq)
            board.send(cobs.encode(with_check(payload)) + b"\x00")
            seq += 1
            time.sleep(max(0.0, start + seq / FORCE_HZ - time.monotonic()))

    async def run() -> None:
        """The peripheral's link breaks once; the cable goes on; half a second after its return it ends."""
        sends, broken, back = asyncio.Event(), asyncio.Event(), asyncio.Event()

        def watch(status: RecordingStatus) -> None:
            over_air = next((stream for stream in status.streams if stream.name == "inertial"), None)
            if over_air is not None and over_air.connected:
                (back if broken.is_set() else sends).set()
            elif over_air is not None and sends.is_set():
                broken.set()

        recorder = Recorder(
            rig,
            RecordingInfo(load_kg=20.0, rig=rig),
            tmp_path / "a.mcap",
            duration_s=30.0,
            tare_s=0.5,
            on_status=watch,
            patience=Patience(back_off=BackOff(first_s=0.6, longest_s=0.6)),
        )
        recording = asyncio.create_task(recorder.run())
        await sends.wait()
        await asyncio.sleep(1.0)
        await asyncio.to_thread(bluetooth.order, "drop", address=ADDRESS)
        await back.wait()
        await asyncio.sleep(0.5)
        recorder.stop()
        summary = await recording
        assert summary.fault is None

    talker = threading.Thread(target=talk)
    talker.start()
    try:
        asyncio.run(run())
    finally:
        halt.set()
        talker.join()
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage == ()
    force, inertial = recording.stream("force", raw=True), recording.stream("inertial")
    assert (np.diff(force["seq"]) == 1).all()
    span_s = force["host_s"].iloc[-1] - force["host_s"].iloc[0]
    assert len(force) == pytest.approx(FORCE_HZ * span_s, rel=0.1)
    assert (force["force_counts"] - force["seq"] == 5000).all()
    # Every notification that came is read whole, and holds what was sent.
    seq = inertial["seq"].to_numpy()
    gyro = inertial["gyro_x_rad_s"].to_numpy() / recording.description("inertial").field("gyro_x").si_factor
    np.testing.assert_allclose(gyro, seq % 30_000, atol=1e-6)
    assert len(recording.messages("inertial")) > 15
    health = recording.health["inertial"]
    assert health.bad_checksum == health.bad_frames == 0
    (gap,) = [mark for mark in recording.marks if mark.kind == "gap"]
    assert gap.text.startswith("inertial:")
    assert gap.until_s - gap.start_s > 0.5
    assert ((inertial["host_s"] < gap.start_s) | (inertial["host_s"] >= gap.until_s)).all()
    assert (inertial["host_s"] >= gap.until_s).sum() >= BATCH
    assert recording.health["force"].lost == 0
