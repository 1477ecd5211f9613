"""Breaks the Bluetooth LE connection of a recorder again and again: it must come back, and lose nothing but the gap.

    python benchmarks/soak_bluetooth.py --breaks 100

The recorder reads through unmodified bleak from an emulated service on a private D-Bus. Nine times in ten the
connection breaks; the tenth time the sensor is out of reach for half a second. The sensor counts its samples and sends
only while it is connected, so a sample that is missing was lost on the way. Ends with exit code 1 if a sample is
missing, a connection does not come back, or anything of one is left behind. Needs the program dbus-daemon.
"""

from __future__ import annotations

import argparse
import asyncio
import binascii
import os
import struct
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from feltload.acquisition import (
    Recorder,
    RecordingInfo,
    RecordingStatus,
    RigDescription,
    load_stream_description,
    read_recording,
)
from feltload.emulator.radio.private_bus import PrivateBus

ADDRESS = "02:00:5E:00:53:0A"
RATE_HZ, BATCH = 200, 10
OUT_OF_REACH_S = 0.5


def notification(number: int) -> str:
    first = number * BATCH
    head = struct.pack(
        "<BHIBH", ord("F"), first & 0xFFFF, first * 1_000_000 // RATE_HZ, BATCH, 1_000_000 // RATE_HZ
    )
    payload = head + struct.pack(f"<{BATCH}i", *range(first, first + BATCH))
    return (payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))).hex()


async def run(
    bus: PrivateBus, rig: RigDescription, path: Path, breaks: int, random: np.random.Generator
) -> None:
    connected = asyncio.Event()

    def look(status: RecordingStatus) -> None:
        up = status.phase == "recording" and status.streams[0].connected
        connected.set() if up else connected.clear()

    recorder = Recorder(rig, RecordingInfo(0.0, rig), path, tare_s=0.0, on_status=look)
    recording = asyncio.create_task(recorder.run())
    for number in range(breaks):
        await asyncio.wait_for(connected.wait(), 60.0)
        await asyncio.sleep(float(random.uniform(0.3, 0.8)))
        connected.clear()
        if number % 10 == 9:
            await asyncio.to_thread(bus.order, "vanish", address=ADDRESS)
            await asyncio.sleep(OUT_OF_REACH_S)
            await asyncio.to_thread(bus.order, "return", address=ADDRESS)
        else:
            await asyncio.to_thread(bus.order, "drop", address=ADDRESS)
        # A status of before the break may still say that it is connected.
        await asyncio.sleep(0.6)
    await asyncio.wait_for(connected.wait(), 60.0)
    await asyncio.sleep(0.5)
    recorder.stop()
    await recording


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--breaks", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    faults: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        bus = PrivateBus(Path(folder))
        bus.start_daemon()
        os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = bus.address
        bus.start_service()
        try:
            stream = load_stream_description("reference-ble-force", changes={"rate_hz": float(RATE_HZ)})
            bus.order(
                "add",
                address=ADDRESS,
                name=stream.link.device_name,
                characteristic=stream.link.characteristic,
                payloads=[notification(number) for number in range(6500)],
                rate_hz=RATE_HZ / BATCH,
            )
            path = Path(folder) / "air.mcap"
            open_before = len(list(Path("/proc/self/fd").iterdir()))
            started = time.monotonic()
            rig = RigDescription(streams=(stream,))
            asyncio.run(run(bus, rig, path, arguments.breaks, np.random.default_rng(arguments.seed)))
            took_s = time.monotonic() - started
            left_open = len(list(Path("/proc/self/fd").iterdir())) - open_before
            state = bus.order("state")
        finally:
            bus.kill_service()
            bus.kill_daemon()
        recording = read_recording(path)
    gaps = np.array([mark.until_s - mark.start_s for mark in recording.marks if mark.kind == "gap"])
    counts = recording.stream("force", raw=True)["force_counts"].to_numpy()
    health = recording.health["force"]
    missing = int(counts[-1] - counts[0] + 1 - counts.size)
    if gaps.size != arguments.breaks:
        faults.append(f"{gaps.size} gaps marked")
    if missing or health.bad_checksum or health.bad_frames:
        faults.append(f"{missing} samples missing, {health.bad_checksum + health.bad_frames} frames damaged")
    if state["connects"] != {ADDRESS: arguments.breaks + 1} or state["connected"]:
        faults.append(f"connections {state['connects']}, still there {state['connected']}")
    # The bus itself stays connected; more than that and a little would grow with the breaks.
    if left_open > 3:
        faults.append(f"{left_open} files and sockets left open")
    print(f"{arguments.breaks} breaks in {took_s:.0f} s, {counts.size} samples, {missing} missing")
    print(f"back after {np.median(gaps):.2f} s (median), {gaps.max():.2f} s at most")
    print(f"open files and sockets left: {left_open}")
    print("\n".join(faults) if faults else "every connection came back, nothing but the gaps is missing")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
