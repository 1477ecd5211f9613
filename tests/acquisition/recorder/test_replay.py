"""A recording replayed as links: byte for byte, with its timing, its silences, and through the recorder."""

from __future__ import annotations

import asyncio
import binascii
import contextlib
import struct
import time
from pathlib import Path

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.errors import LinkError
from feltload.acquisition.links.link import Arrival, LinkDown, LinkUp
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.recorder.record import record
from feltload.acquisition.recorder.replay import Replay, ReplayLink, open_replay
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import Recording, read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import RigDescription

RATE_HZ = 250
START_NS = 3_000_000_000_000


def frame(kind: str, seq: int) -> bytes:
    values = (
        struct.pack("<i", 1000 + seq) if kind == "F" else struct.pack("<6h", *range(seq % 50, seq % 50 + 6))
    )
    payload = struct.pack("<BHI", ord(kind), seq & 0xFFFF, seq * 1_000_000 // RATE_HZ) + values
    return cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\x00"


def write(path: Path, *, seconds: float = 1.6, silent: tuple[float, float] = (9.0, 9.0)) -> Recording:
    """Two streams cut anywhere into messages of 1 to 20 ms, with noise in between."""
    generator = np.random.default_rng(31)
    rig = RigDescription(
        streams=tuple(
            load_stream_description(f"reference-{name}", changes={"rate_hz": RATE_HZ})
            for name in ("force", "inertial")
        )
    )
    with RecordingWriter(path, RecordingInfo(load_kg=20.0, rig=rig), start_ns=START_NS) as writer:
        for name, kind in (("force", "F"), ("inertial", "I")):
            flow = b"".join(frame(kind, seq) for seq in range(int(seconds * RATE_HZ)))
            flow = flow[:900] + generator.bytes(30) + flow[900:]
            at_s, position = 0.01, 0
            while position < len(flow):
                step_s = float(generator.uniform(0.001, 0.020))
                size = max(1, round(step_s / seconds * len(flow)))
                at_s += step_s
                if not silent[0] <= at_s < silent[1]:
                    writer.write(name, START_NS + round(at_s * 1e9), flow[position : position + size])
                position += size
    return read_recording(path)


def replay(recording: Recording, name: str, speed: float | None) -> ReplayLink:
    source = Replay(recording.messages(name), origin_ns=recording.origin_ns, speed=speed)
    return ReplayLink(source, where=name)


@pytest.mark.parametrize("speed", [None, 4.0])
def test_every_arrival_with_its_bytes_and_timing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, speed: float | None
) -> None:
    recording = write(tmp_path / "a.mcap")
    wanted = recording.messages("force")

    waits: list[float] = []
    sleep = asyncio.sleep

    async def counted_sleep(wait_s: float) -> None:
        waits.append(wait_s)
        await sleep(wait_s)

    monkeypatch.setattr(asyncio, "sleep", counted_sleep)

    async def run() -> list[tuple[Arrival, int]]:
        async with replay(recording, "force", speed) as link:
            return [(arrival, time.monotonic_ns()) async for arrival in link]

    received = asyncio.run(run())
    arrivals = [arrival for arrival, _ in received]
    assert [len(arrival.data) for arrival in arrivals] == np.diff(wanted.ends, prepend=0).tolist()
    assert b"".join(arrival.data for arrival in arrivals) == wanted.data.tobytes()
    stamps = np.array([arrival.host_ns for arrival in arrivals])
    np.testing.assert_allclose(np.diff(stamps), np.diff(wanted.host_ns) / (speed or 1.0), atol=1)
    if speed is None:
        assert set(waits) == {0.0}
    else:
        # None comes before its time, a millisecond of the timer's rounding apart.
        assert all(taken_ns >= arrival.host_ns - 1_000_000 for arrival, taken_ns in received)


def test_through_the_recorder_and_back(tmp_path: Path) -> None:
    """A recorder begins once both sensors are recognised; from there on not a byte differs."""
    original = write(tmp_path / "a.mcap")
    link = {"type": "replay", "path": str(tmp_path / "a.mcap")}
    rig = RigDescription(
        streams=tuple(
            load_stream_description(f"reference-{name}", changes={"link": link, "rate_hz": RATE_HZ})
            for name in ("force", "inertial")
        )
    )

    async def run() -> None:
        summary = await record(rig, RecordingInfo(load_kg=20.0, rig=rig), tmp_path / "b.mcap", tare_s=0.0)
        assert summary.fault is None
        assert 1.0 < summary.duration_s < 2.5

    asyncio.run(run())
    again = read_recording(tmp_path / "b.mcap")
    assert again.damage == ()
    assert [mark.kind for mark in again.marks] == []
    for name in ("force", "inertial"):
        before, after = original.messages(name), again.messages(name)
        left_out = len(before) - len(after)
        assert 0 <= left_out < 20
        assert after.data.tobytes() == before.data.tobytes()[before.ends[left_out - 1] if left_out else 0 :]
        np.testing.assert_array_equal(np.diff(after.host_ns), np.diff(before.host_ns)[left_out:])
        samples = again.stream(name, raw=True)
        np.testing.assert_array_equal(
            samples["seq"].iloc[5:], original.stream(name, raw=True)["seq"].iloc[-len(samples) + 5 :]
        )


def test_a_silence_is_a_loss_and_it_goes_on_after(tmp_path: Path) -> None:
    recording = write(tmp_path / "a.mcap", silent=(0.5, 1.1))
    source = Replay(recording.messages("force"), origin_ns=recording.origin_ns)

    async def run() -> list[Arrival | LinkDown | LinkUp]:
        reconnection = Reconnection(
            lambda: ReplayLink(source, where="force"),
            back_off=BackOff(first_s=0.02, longest_s=0.05),
            silence_s=0.2,
            first_silence_s=0.2,
        )
        async with contextlib.aclosing(reconnection.run()) as events:
            return [event async for event in events]

    events = asyncio.run(run())
    assert [type(event) for event in events if not isinstance(event, Arrival)] == [LinkDown, LinkUp]
    received = b"".join(event.data for event in events if isinstance(event, Arrival))
    assert received == recording.messages("force").data.tobytes()


def test_what_cannot_be_replayed(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="no such recording"):
        open_replay(tmp_path / "none.mcap", "force")
    write(tmp_path / "a.mcap", seconds=0.1)
    with pytest.raises(LinkError, match="it has force, inertial"):
        open_replay(tmp_path / "a.mcap", "left")
    with pytest.raises(ValueError, match="above 0"):
        Replay(read_recording(tmp_path / "a.mcap").messages("force"), origin_ns=0, speed=0.0)
