"""A scale with the Bluetooth SIG's weight scale service, by the description that ships, over a private bus.

Service 0x181D and characteristic 0x2A9D: Bluetooth SIG, Assigned Numbers; flags, units and resolutions: GATT
Specification Supplement, Weight Measurement (see `tests/published/wire.toml`). Readings are indicated, not notified:
Weight Scale Service 1.0, table 3.1 (from memory).
"""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from feltload.acquisition.links.devices import peripherals
from feltload.acquisition.recorder.recorder import Recorder
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.status import RecordingStatus
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription

SERVICE = "0000181d-0000-1000-8000-00805f9b34fb"
READINGS = [
    (bytes([0x00]) + (4480).to_bytes(2, "little"), 22.4),
    # In pounds, 1 lb = 0.45359237 kg exactly (NIST SP 811, appendix B.8).
    (bytes([0x01]) + (5000).to_bytes(2, "little"), 50.0 * 0.45359237),
    # With the time of day, which is read past.
    (bytes([0x02]) + (4500).to_bytes(2, "little") + bytes.fromhex("EA070B190B0800"), 22.5),
    # A measurement that did not succeed is none.
    (bytes([0x00, 0xFF, 0xFF]), None),
]


def test_a_scale_is_found_by_its_service_and_its_readings_become_newtons(bluetooth, tmp_path: Path) -> None:
    scale = load_stream_description("bluetooth-weight-scale")
    bluetooth.order(
        "add",
        address="02:00:5E:00:53:0D",
        name=scale.link.device_name,
        service=scale.link.service,
        characteristic=scale.link.characteristic,
        sends_by="indicate",
        payloads=[data.hex() for _ in range(200) for data, _ in READINGS],
        rate_hz=10.0,
    )
    found = asyncio.run(peripherals(1.0))
    assert [item.services for item in found] == [(SERVICE,)]
    out = tmp_path / "scale.mcap"
    rig = RigDescription(streams=(scale,))

    async def run() -> None:
        enough = asyncio.Event()

        def status(now: RecordingStatus) -> None:
            if now.streams and now.streams[0].health.samples >= 12:
                enough.set()

        recorder = Recorder(rig, RecordingInfo(load_kg=40.0, rig=rig), out, duration_s=60.0, on_status=status)
        running = asyncio.create_task(recorder.run())
        async with asyncio.timeout(60.0):
            await enough.wait()
        recorder.stop()
        await running

    asyncio.run(run())
    forces = read_recording(out).stream("force")["force_n"].to_numpy()[:6]
    known = [mass * 9.80665 for _, mass in READINGS if mass is not None]
    assert forces == pytest.approx([*known, *known])
