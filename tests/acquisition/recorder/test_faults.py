"""The recorder over real ptys, with boards that are unplugged, reset, swapped, damaged and silent."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from board_rig import Firmware, Rig
from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.recorder.facts import LinkFact
from feltload.acquisition.recording.recording import read_recording


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
    assert [each.to_dict() for each in summary.streams] == [
        each.to_dict() for each in recording.health.values()
    ]
    (lost,) = summary.events
    assert (lost.kind, lost.figures["reason"]) == (LinkFact.LINK_LOST, LinkReason.LOST)
    assert lost.figure("at_s") == pytest.approx(gap.start_s)


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
    assert {(fact.kind, fact.figures["expected"], fact.figures["sends"]) for fact in summary.events} == {
        (LinkFact.OTHER_SENSOR, "force", "inertial"),
        (LinkFact.OTHER_SENSOR, "inertial", "force"),
    }


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
    summary = rig.record(tmp_path / "a.mcap", duration_s=2.0)
    recording = read_recording(tmp_path / "a.mcap")
    assert [each.to_dict() for each in summary.streams] == [
        each.to_dict() for each in recording.health.values()
    ]
    gaps = [mark for mark in recording.marks if mark.kind == "gap"]
    assert len(gaps) == 1
    assert "sends nothing" in gaps[0].text
    assert recording.health["inertial"].samples == pytest.approx(500, abs=40)


def test_wrong_baud(rig: Rig, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes arrive, but mean nothing, as with a wrong baud rate."""
    monkeypatch.setattr("feltload.acquisition.recorder.channel_reader.UNREADABLE_S", 0.5)
    generator = np.random.default_rng(7)
    rig.firmware["force"].inject = lambda seq, data: generator.bytes(15)
    rig.start()
    with pytest.raises(LinkError, match="check the baud rate") as caught:
        rig.record(tmp_path / "a.mcap")
    assert caught.value.reason is LinkReason.UNSUPPORTED
    assert not (tmp_path / "a.mcap").exists()
