"""The recorder over real ptys, with boards that are unplugged, reset, swapped, damaged and silent.

The frames are made here with the `cobs` package and the standard library's CRC, apart from the decoder.
"""

from __future__ import annotations

import asyncio
import binascii
import contextlib
import os
import resource
import signal
import struct
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.channel_reader import Patience
from feltload.acquisition.description import load_stream_description
from feltload.acquisition.errors import LinkError, LinkReason, RecordingError
from feltload.acquisition.links import BackOff
from feltload.acquisition.recorder import Recorder, record
from feltload.acquisition.recording import RecordingInfo, read_recording
from feltload.acquisition.recording_status import RecordingStatus, RecordingSummary
from feltload.acquisition.schema import RigDescription
from feltload.acquisition.writer_thread import Message, WriterThread

PATIENCE = Patience(first_silence_s=0.6, silence_s=0.5, back_off=BackOff(first_s=0.02, longest_s=0.1))


def frame(kind: str, seq: int, device_us: int, values: bytes | None = None) -> bytes:
    if values is None:
        values = struct.pack("<i", 1000 + seq) if kind == "F" else struct.pack("<6h", *range(6))
    payload = struct.pack("<BHI", ord(kind), seq & 0xFFFF, device_us & 0xFFFFFFFF) + values
    # crc_hqx with this start value is the catalogue's CRC-16/IBM-3740.
    payload += struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))
    return cobs.encode(payload) + b"\x00"


class Firmware(threading.Thread):
    """Sends frames through a board's pty at a rate, from sequence number 0."""

    def __init__(self, board, kind: str, rate_hz: float = 250.0) -> None:
        super().__init__(daemon=True)
        self.board, self.kind, self.rate_hz = board, kind, rate_hz
        self.running = True
        self.seq = 0
        self.inject: Callable[[int, bytes], bytes] = lambda seq, data: data

    def run(self) -> None:
        start = time.monotonic()
        while self.running:
            data = frame(self.kind, self.seq, int(self.seq * 1e6 / self.rate_hz))
            # A board that is unplugged sends nowhere.
            with contextlib.suppress(RuntimeError, OSError):
                self.board.send(self.inject(self.seq, data))
            self.seq += 1
            time.sleep(max(0.0, start + self.seq / self.rate_hz - time.monotonic()))

    def halt(self) -> None:
        self.running = False
        self.join()


class Rig:
    """Two boards on ptys, and the rig description that names their ports."""

    def __init__(self, make_board: Callable[[str], object]) -> None:
        self.boards = {"force": make_board("force"), "inertial": make_board("inertial")}
        self.firmware = {
            "force": Firmware(self.boards["force"], "F"),
            "inertial": Firmware(self.boards["inertial"], "I"),
        }
        self.description = RigDescription(
            streams=tuple(
                load_stream_description(
                    f"reference-{name}",
                    changes={"link": {"port": str(board.port)}, "rate_hz": 250.0},
                )
                for name, board in self.boards.items()
            )
        )

    def start(self, *names: str) -> None:
        for name in names or ("force", "inertial"):
            self.firmware[name].start()

    def record(self, path: Path, **settings: object) -> RecordingSummary:
        settings = {"duration_s": 1.0, "tare_s": 0.2, "patience": PATIENCE, **settings}
        info = RecordingInfo(load_kg=20.0, rig=self.description)

        async def run() -> RecordingSummary:
            summary = await record(self.description, info, path, **settings)
            assert asyncio.all_tasks() == {asyncio.current_task()}
            return summary

        return asyncio.run(run())


@pytest.fixture
def rig(make_board) -> Iterator[Rig]:
    rig = Rig(make_board)
    yield rig
    for firmware in rig.firmware.values():
        if firmware.is_alive():
            firmware.halt()


def test_everything_that_was_sent_is_in_the_file(rig: Rig, tmp_path: Path) -> None:
    rig.start()
    seen: list[RecordingStatus] = []
    summary = rig.record(tmp_path / "a.mcap", on_status=seen.append)
    assert summary.fault is None
    assert summary.warnings() == []
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage is None
    for name in ("force", "inertial"):
        samples = recording.stream(name, raw=True)
        assert len(samples) == pytest.approx(250, abs=25)
        assert (np.diff(samples["seq"]) == 1).all()
        assert recording.health[name].lost == 0
        # What the recorder counted while it ran is what the file decodes to.
        counted = next(health for health in summary.streams if health.name == name)
        assert counted.samples == len(samples)
        assert counted.bad_checksum == counted.bad_frames == counted.lost == 0
    assert (recording.stream("force", raw=True)["force_counts"].diff().dropna() == 1).all()
    (tare,) = recording.marks
    assert tare.kind == "tare"
    assert tare.start_s == pytest.approx(0.0, abs=1e-6)
    assert tare.until_s == pytest.approx(0.2)
    assert [status.phase for status in seen[:2]] == ["connecting", "tare"]
    last = seen[-1]
    assert last.phase == "recording"
    assert [stream.connected for stream in last.streams] == [True, True]
    assert last.streams[0].rate_hz == pytest.approx(250, rel=0.2)
    assert last.streams[0].latest["force_counts"] > 1000


def test_marks_while_recording(rig: Rig, tmp_path: Path) -> None:
    rig.start()

    async def run() -> None:
        recorder = Recorder(
            rig.description,
            RecordingInfo(load_kg=20.0, rig=rig.description),
            tmp_path / "a.mcap",
            tare_s=0.0,
            patience=PATIENCE,
        )
        asyncio.get_running_loop().call_later(0.3, recorder.mark, "knock")
        asyncio.get_running_loop().call_later(0.4, recorder.mark, "note", "seat at 4")
        asyncio.get_running_loop().call_later(0.6, recorder.stop)
        await recorder.run()

    asyncio.run(run())
    marks = read_recording(tmp_path / "a.mcap").marks
    assert [(mark.kind, mark.text) for mark in marks] == [("knock", ""), ("note", "seat at 4")]
    assert marks[1].start_s - marks[0].start_s == pytest.approx(0.1, abs=0.05)


def test_unplugged_and_replugged(rig: Rig, tmp_path: Path) -> None:
    rig.start()

    def disturb() -> None:
        time.sleep(0.7)
        rig.boards["force"].unplug()
        time.sleep(0.4)
        rig.boards["force"].plug()

    thread = threading.Thread(target=disturb)
    thread.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=2.0)
    thread.join()
    recording = read_recording(tmp_path / "a.mcap")
    (gap,) = [mark for mark in recording.marks if mark.kind == "gap"]
    assert gap.text.startswith("force: the serial port was lost")
    assert gap.until_s - gap.start_s == pytest.approx(0.4, abs=0.25)
    assert recording.health["inertial"].lost == 0
    health = recording.health["force"]
    # The board kept counting while unplugged, so the loss is known to the sample.
    assert health.gaps == 1
    assert health.lost == pytest.approx(0.25 * 1000 * (gap.until_s - gap.start_s), abs=30)
    assert health.bad_checksum == 0
    assert any("was lost" in note for note in summary.notes)


def test_board_resets(rig: Rig, tmp_path: Path) -> None:
    """Clock and sequence start again in mid-recording, with its start-up text in between."""
    rig.start()

    def disturb() -> None:
        time.sleep(0.6)
        rig.firmware["force"].halt()
        rig.boards["force"].send(b"boot: reset by brown-out\r\n\x00")
        rig.firmware["force"] = Firmware(rig.boards["force"], "F")
        rig.firmware["force"].start()

    # Long enough before the recording that its clock clearly starts again.
    time.sleep(0.5)
    thread = threading.Thread(target=disturb)
    thread.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=1.5)
    thread.join()
    health = read_recording(tmp_path / "a.mcap").health["force"]
    assert health.resets == 1
    assert health.bad_frames + health.bad_checksum >= 1
    assert summary.streams[0].resets == 1


def test_swapped_ports(rig: Rig, tmp_path: Path) -> None:
    """A board is known by what it sends, not by the port it is plugged into."""
    rig.firmware["force"].kind, rig.firmware["inertial"].kind = "I", "F"
    rig.start()
    summary = rig.record(tmp_path / "a.mcap")
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.health["force"].samples == pytest.approx(250, abs=25)
    assert recording.health["inertial"].samples == pytest.approx(250, abs=25)
    assert recording.health["force"].ignored_frames == 0
    assert len(summary.notes) == 2
    assert "was expected to send" in summary.notes[0]


def test_faults_are_counted(rig: Rig, tmp_path: Path) -> None:
    """Noise before the first frame, dropped and damaged frames: all counted, nothing else lost."""
    damaged = dropped = 0

    def inject(seq: int, data: bytes) -> bytes:
        nonlocal damaged, dropped
        if seq % 100 == 50:
            dropped += 1
            return b""
        if seq % 100 == 70:
            damaged += 1
            return data[:5] + bytes([data[5] ^ 0x10 or 1]) + data[6:]
        return data

    rig.firmware["force"].inject = inject
    rig.boards["force"].send(os.urandom(300))
    rig.start()
    summary = rig.record(tmp_path / "a.mcap", duration_s=1.5)
    health = read_recording(tmp_path / "a.mcap").health["force"]
    first, last = health.samples, summary.streams[0].samples
    assert first == last
    assert 2 <= health.gaps <= damaged + dropped
    assert health.lost == health.gaps
    assert health.bad_checksum + health.bad_frames == pytest.approx(health.gaps / 2, abs=1)
    assert summary.streams[0].bad_checksum == health.bad_checksum
    assert summary.streams[0].lost == health.lost


def test_one_silent_sensor_is_one_clear_error(rig: Rig, tmp_path: Path) -> None:
    rig.start("inertial")
    with pytest.raises(LinkError, match="the sensor sent nothing") as caught:
        rig.record(tmp_path / "a.mcap")
    assert caught.value.reason is LinkReason.SILENT
    assert str(rig.boards["force"].port) in str(caught.value)
    assert not (tmp_path / "a.mcap").exists()


def test_both_sensors_silent(rig: Rig, tmp_path: Path) -> None:
    with pytest.raises(LinkError) as caught:
        rig.record(tmp_path / "a.mcap")
    assert caught.value.reason is LinkReason.SILENT
    for board in rig.boards.values():
        assert str(board.port) in str(caught.value)
    assert not (tmp_path / "a.mcap").exists()


def test_silent_later(rig: Rig, tmp_path: Path) -> None:
    """One that falls silent in mid-recording is a gap up to the end; the other goes on."""
    rig.start()
    threading.Timer(0.8, rig.firmware["force"].halt).start()
    rig.record(tmp_path / "a.mcap", duration_s=2.0)
    recording = read_recording(tmp_path / "a.mcap")
    gaps = [mark for mark in recording.marks if mark.kind == "gap"]
    assert len(gaps) == 1
    assert "sends nothing" in gaps[0].text
    assert recording.health["inertial"].samples == pytest.approx(500, abs=40)


def test_wrong_baud(rig: Rig, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes arrive, but mean nothing, as with a wrong baud rate."""
    monkeypatch.setattr("feltload.acquisition.channel_reader.UNREADABLE_S", 0.5)
    generator = np.random.default_rng(7)
    rig.firmware["force"].inject = lambda seq, data: generator.bytes(15)
    rig.start()
    with pytest.raises(LinkError, match="check the baud rate") as caught:
        rig.record(tmp_path / "a.mcap")
    assert caught.value.reason is LinkReason.UNSUPPORTED
    assert not (tmp_path / "a.mcap").exists()


def test_existing_file_is_kept(rig: Rig, tmp_path: Path) -> None:
    path = tmp_path / "a.mcap"
    path.write_bytes(b"precious")
    rig.start()
    with pytest.raises(RecordingError):
        rig.record(path)
    assert path.read_bytes() == b"precious"


def test_full_disk_stops_cleanly(rig: Rig, tmp_path: Path) -> None:
    """The limit on a file's size stands for the full disk: the same refusal by the system."""
    rig.start()
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, before[1]))
        summary = rig.record(tmp_path / "a.mcap", duration_s=10.0)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)
    assert summary.fault is not None
    assert "the disk is full" in str(summary.fault)
    assert summary.duration_s < 9.0
    recording = read_recording(tmp_path / "a.mcap")
    assert recording.damage is not None
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


def test_what_came_before_a_silence_reaches_the_disk(rig: Rig, tmp_path: Path) -> None:
    """Nothing more arrives, yet what has arrived is on the disk within a second; read while the file is open."""
    path = tmp_path / "a.mcap"

    async def run() -> None:
        info = RecordingInfo(load_kg=20.0, rig=rig.description)
        async with WriterThread(path, info, start_ns=0, overwrite=False) as writer:
            flow = b"".join(frame("F", seq, 4000 * seq) for seq in range(50))
            assert await writer.write([Message("force", 10**9, flow)]) is None
            assert len(read_recording(path).stream("force", raw=True)) == 0
            await asyncio.sleep(0.6)
            assert await writer.write([]) is None
            assert len(read_recording(path).stream("force", raw=True)) == 50

    asyncio.run(run())


RECORDING_PROGRAM = textwrap.dedent(
    """
    import asyncio, os, sys, threading
    from pathlib import Path
    from feltload.acquisition.recorder import record
    from feltload.acquisition.recording import RecordingInfo
    from feltload.acquisition.schema import RigDescription

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
    assert recording.damage is None
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
        assert recording.damage is not None
        samples = recording.stream("force", raw=True)
        lost = (last_seq - int(samples["seq"].iloc[-1])) / 250.0
        assert lost <= 1.0
        assert (np.diff(samples["seq"]) == 1).all()
