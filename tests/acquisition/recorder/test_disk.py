"""A recording on its way to the disk: full and slow disks, interrupts, kills."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from board_rig import Rig, frame
from feltload.acquisition.recorder.writer_thread import MessageRecord, WriterThread
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.wire.facts import HealthFact
from full_disk import files_limited_to


def test_full_disk_stops_cleanly(rig: Rig, tmp_path: Path) -> None:
    rig.start()
    with files_limited_to(20_000):
        summary = rig.record(tmp_path / "a.mcap", duration_s=10.0)
    assert summary.fault is not None
    assert "the disk is full" in str(summary.fault)
    assert summary.duration_s < 9.0
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage
    assert recording.health["force"].samples > 100
    assert recording.health["force"].lost == 0


def test_slow_disk_loses_nothing(rig: Rig, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every sync of the disk takes a third of a second."""
    sync = os.fsync

    def slow(descriptor: int) -> None:
        time.sleep(0.35)
        sync(descriptor)

    monkeypatch.setattr(os, "fsync", slow)
    rig.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=2.0)
    assert summary.fault is None
    recording = read_recording(tmp_path / "a.mcap")
    for name in ("force", "inertial"):
        assert recording.health[name].samples == pytest.approx(250 * summary.duration_s, rel=0.1)
        assert recording.health[name].lost == 0
        # Nothing is counted that came while the last of it was being written, and is not in the file.
        counted = next(health for health in summary.streams if health.name == name)
        assert counted.samples == recording.health[name].samples


def test_a_disk_that_stalls_beyond_memory_drops_and_counts(
    rig: Rig, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Room for a tenth of a second only, and every sync takes half a second."""
    sync = os.fsync

    def slow(descriptor: int) -> None:
        time.sleep(0.5)
        sync(descriptor)

    monkeypatch.setattr(os, "fsync", slow)
    monkeypatch.setattr("feltload.acquisition.recorder.pending_writes.LIMIT_BYTES", 900)
    rig.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=2.5)
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage == ()
    for health in summary.streams:
        kept = recording.health[health.name]
        assert health.dropped_messages > 3
        assert kept.dropped_messages == health.dropped_messages
        assert kept.samples == health.samples
        assert kept.lost > 50
    not_kept = [fact for fact in summary.facts() if fact.kind == HealthFact.MESSAGES_NOT_KEPT]
    assert {fact.stream: fact.figures["count"] for fact in not_kept} == {
        health.name: health.dropped_messages for health in summary.streams
    }


def test_what_came_before_a_silence_reaches_the_disk(rig: Rig, tmp_path: Path) -> None:
    """Nothing more arrives, yet what has arrived is on the disk within a second; read while the file is open."""
    path = tmp_path / "a.mcap"

    async def run() -> None:
        info = RecordingInfo(load_kg=20.0, rig=rig.description)
        async with WriterThread(path, info, start_ns=0, overwrite=False) as writer:
            flow = b"".join(frame("F", seq, 4000 * seq) for seq in range(50))
            assert await writer.write([MessageRecord("force", 10**9, flow)]) is None
            assert len(read_recording(path).stream("force", raw=True)) == 0
            await asyncio.sleep(0.6)
            assert await writer.write([]) is None
            assert len(read_recording(path).stream("force", raw=True)) == 50

    asyncio.run(run())


RECORDING_PROGRAM = textwrap.dedent(
    """
    import asyncio, os, sys, threading
    from pathlib import Path
    from feltload.acquisition.recorder.record import record
    from feltload.acquisition import RecordingInfo
    from feltload.acquisition.wire.descriptions.schema import RigDescription

    rig = RigDescription.model_validate_json(sys.stdin.readline())
    said = False

    def follow_parent():
        # Whoever started this is gone: a port must not stay taken.
        sys.stdin.read()
        os._exit(1)

    threading.Thread(target=follow_parent, daemon=True).start()

    def say(status):
        global said
        if status.phase != "connecting" and not said:
            said = True
            print("recording", flush=True)

    asyncio.run(record(rig, RecordingInfo(load_kg=20.0, rig=rig), Path(sys.argv[1]), on_status=say))
    """
)


@contextlib.contextmanager
def recording_program(rig: Rig, path: Path) -> Iterator[subprocess.Popen[str]]:
    """A recorder in a process of its own that has begun; killed at the end whatever happens.

    Numbers of ptys are used again: a process elsewhere on the machine that keeps trying one may take it from
    the board. Then the board gets another.
    """
    for _ in range(4):
        with subprocess.Popen(
            [sys.executable, "-c", RECORDING_PROGRAM, str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as process:
            try:
                process.stdin.write(rig.description.model_dump_json() + "\n")
                process.stdin.flush()
                if process.stdout.readline() == "recording\n":
                    yield process
                    return
                said = process.stderr.read()
            finally:
                process.kill()
        if "in use by another program" not in said:
            break
        for board in rig.boards.values():
            board.replace()
    raise AssertionError(f"the recorder did not begin: {said}")


def test_interrupt_closes_the_file(rig: Rig, tmp_path: Path) -> None:
    rig.start()
    with recording_program(rig, tmp_path / "a.mcap") as process:
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=10) == 0
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage == ()
    assert recording.health["force"].samples > 50


def test_killed_it_loses_at_most_a_second(rig: Rig, tmp_path: Path) -> None:
    """Killed at random instants, one recording after the other."""
    rig.start()
    generator = np.random.default_rng(20)
    for number in range(4):
        path = tmp_path / f"{number}.mcap"
        with recording_program(rig, path) as process:
            time.sleep(float(generator.uniform(0.9, 1.6)))
            last_seq = rig.firmware["force"].seq
            process.kill()
        recording = read_recording(path)
        assert recording.damage
        samples = recording.stream("force", raw=True)
        lost = (last_seq - int(samples["seq"].iloc[-1])) / 250.0
        assert lost <= 1.0
        assert (np.diff(samples["seq"]) == 1).all()
