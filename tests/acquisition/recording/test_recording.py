import os
import signal
import struct
import subprocess
import sys
import textwrap
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from mcap.reader import NonSeekingReader, make_reader

from feltload.acquisition import (
    CertificateError,
    RecordingError,
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    StreamHealth,
    load_stream_description,
    read_recording,
)
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import InputError

CELL = StreamDescription(
    name="cell",
    kind="force",
    framing="notification",
    fields=[{"name": "seq", "type": "u16"}, {"name": "force", "type": "f32", "unit": "N"}],
)
INFO = RecordingInfo(
    load_kg=40.0,
    load_u_kg=0.4,
    rig=RigDescription(streams=(CELL, load_stream_description("csv-board-inertial"))),
    side="left",
    tempo="3-1-3",
    notes="invented",
    machine_toml='name = "bench"\n',
    certificates={"other": "{}"},
)
START = 5_000_000_000


def write_samples(path, n=60, flush_every=20, info=INFO):
    with RecordingWriter(path, info) as writer:
        for k in range(n):
            writer.write("cell", START + k * 10_000_000, struct.pack("<Hf", k, k / 2))
            if k % flush_every == flush_every - 1:
                writer.flush()
        writer.mark("tare", START, until_ns=START + 200_000_000)
        writer.mark("note", START + 300_000_000, "strap moved")
        writer.health([StreamHealth("cell", dropped_messages=3)])
    return path


def test_what_is_written_is_read(tmp_path):
    recording = read_recording(write_samples(tmp_path / "a.mcap"))
    assert recording.damage == ()
    assert recording.info.rig == INFO.rig
    assert (recording.info.load_kg, recording.info.load_u_kg, recording.info.side) == (40.0, 0.4, "left")
    assert recording.info.machine_toml == INFO.machine_toml and recording.info.certificates == {"other": "{}"}
    frame = recording.stream("cell")
    assert frame["force_n"].tolist() == [k / 2 for k in range(60)]
    assert frame["host_s"].iloc[-1] == pytest.approx(0.59)
    assert [(m.kind, m.start_s, m.until_s) for m in recording.marks] == [
        ("tare", 0.0, pytest.approx(0.2)),
        ("note", pytest.approx(0.3), None),
    ]
    assert recording.health["cell"].dropped_messages == 3
    assert recording.streams_of("force") == ("cell",) == recording.streams_of("force", "left")


def test_reference_reader_opens_it_and_checks_its_checksums(tmp_path):
    path = write_samples(tmp_path / "a.mcap")
    for make in (make_reader, NonSeekingReader):
        with path.open("rb") as stream:
            reader = make(stream, validate_crcs=True)
            found = [m.data for _, channel, m in reader.iter_messages() if channel.topic == "sensor/cell"]
        assert found == [struct.pack("<Hf", k, k / 2) for k in range(60)]


def test_cut_at_every_byte_opens_or_says_one_thing(tmp_path):
    # As small as a recording gets: its reading is most of the time that this takes.
    info = RecordingInfo(load_kg=40.0, rig=RigDescription(streams=(CELL,)), started_utc="2026-06-01T10:00:00")
    whole = write_samples(tmp_path / "a.mcap", n=6, flush_every=2, info=info).read_bytes()
    cut = tmp_path / "cut.mcap"
    counts = []
    for size in range(len(whole)):
        cut.write_bytes(whole[:size])
        try:
            recording = read_recording(cut)
        except RecordingError as error:
            assert "\n" not in str(error)
            counts.append(-1)
            continue
        assert recording.damage
        frame = recording.stream("cell")
        assert frame["force_n"].tolist() == [k / 2 for k in range(len(frame))]
        counts.append(len(frame))
    assert counts == sorted(counts)
    assert set(counts) == {-1, 0, 2, 4, 6}


def test_a_damaged_block_is_left_out_and_reported(tmp_path):
    path = write_samples(tmp_path / "a.mcap")
    whole = path.read_bytes()
    losses = 0
    for place in range(0, len(whole), 7):
        damaged = bytearray(whole)
        damaged[place] ^= 0x55
        path.write_bytes(damaged)
        try:
            recording = read_recording(path)
            frame = recording.stream("cell")
        except (RecordingError, InputError) as error:
            assert "\n" not in str(error)
            continue
        sequence = frame["seq"].to_numpy()
        assert (frame["force_n"].to_numpy() == sequence / 2).all()
        if len(frame) < 60:
            losses += 1
            assert recording.damage
    assert losses > 10


def test_a_block_taken_for_something_else_is_reported(tmp_path):
    """Readers pass over records of a kind that they do not know, and a block may turn into one."""
    path = write_samples(tmp_path / "a.mcap")
    whole = path.read_bytes()
    # A block's header before its compressed bytes: 9 of the record, 28 of times, size and check, the name, 8 of size.
    begin = whole.index(bytes.fromhex("28b52ffd")) - (9 + 28 + 4 + len("zstd") + 8)
    assert whole[begin] == 0x06
    for kind in set(range(256)) - {0x06}:
        path.write_bytes(whole[:begin] + bytes([kind]) + whole[begin + 1 :])
        try:
            recording = read_recording(path)
        except RecordingError as error:
            assert "\n" not in str(error)
            continue
        assert len(recording.stream("cell")) == 60 or recording.damage, kind


def record_starts(whole):
    """Where each record begins, by the container's specification: a byte of kind, eight of length."""
    at = 8
    while at < len(whole) - 8:
        yield at, whole[at]
        at += 9 + int.from_bytes(whole[at + 1 : at + 9], "little")


def test_a_wrong_length_costs_that_block_and_not_what_follows(tmp_path):
    """A bit turned in a length sends every later read astray, unless the next record is looked for."""
    path = write_samples(tmp_path / "a.mcap", n=200, flush_every=20)
    whole = path.read_bytes()
    starts = list(record_starts(whole))
    assert sum(kind == 0x06 for _, kind in starts) >= 10
    refused = 0
    for begin, kind in starts:
        for place in range(8):
            damaged = bytearray(whole)
            damaged[begin + 1 + place] ^= 1 << (begin % 8)
            path.write_bytes(damaged)
            try:
                recording = read_recording(path)
            except RecordingError as error:
                # Without the description of the sensors, or with both copies of the rest gone, nothing can be read.
                assert kind in (0x01, 0x09, 0x0C), error
                refused += 1
                continue
            frame = recording.stream("cell")
            assert (frame["force_n"].to_numpy() == frame["seq"].to_numpy() / 2).all()
            assert len(frame) >= 160, (begin, kind, place)
            assert len(frame) == 200 or any(
                fact.kind in (DamageFact.BYTES_LEFT_OUT, DamageFact.BLOCK_LEFT_OUT)
                for fact in recording.damage
            )
    assert refused < 16


def test_a_sea_of_zeros_behind_half_a_recording_is_passed_over(tmp_path):
    path = write_samples(tmp_path / "a.mcap", n=200, flush_every=20)
    half = path.read_bytes()[: int(0.7 * path.stat().st_size)]
    with path.open("wb") as file:
        file.write(half)
        file.truncate(1 << 29)
    recording = read_recording(path)
    assert len(recording.stream("cell")) >= 40
    cut = next(fact for fact in recording.damage if fact.kind == DamageFact.RECORDING_CUT)
    assert cut.figures["unread_bytes"] > (1 << 29) - len(half) - 500


@pytest.mark.parametrize("name", ["lever-row-40kg", "client-holds"])
def test_a_byte_in_the_first_block_costs_that_block_and_not_the_session(tmp_path, name):
    """The block also names the channels; so do the index at the end and a list of its own."""
    path = tmp_path / "a.mcap"
    whole = (Path(__file__).parents[3] / "recordings" / f"{name}.mcap").read_bytes()
    path.write_bytes(whole)
    before = read_recording(path).stream("force")
    for place in (5000, 6000, 9000):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        recording = read_recording(path)
        assert [fact.kind for fact in recording.damage if fact.kind == DamageFact.BLOCK_LEFT_OUT]
        assert len(recording.stream("force")) > 0.95 * len(before)


@pytest.mark.parametrize("content", [b"time_s,force_n\n0,1\n", bytes(200)])
def test_not_a_recording(tmp_path, content):
    path = tmp_path / "a.mcap"
    path.write_bytes(content)
    with pytest.raises(RecordingError, match="not a recording"):
        read_recording(path)


def test_missing_and_existing_files(tmp_path):
    with pytest.raises(RecordingError, match="no such recording"):
        read_recording(tmp_path / "none.mcap")
    path = write_samples(tmp_path / "a.mcap")
    with pytest.raises(RecordingError, match="exists already"):
        RecordingWriter(path, INFO)
    assert len(read_recording(path).stream("cell")) == 60


def test_counts_without_certificate(tmp_path):
    rig = RigDescription(streams=(load_stream_description("reference-force"),))
    with RecordingWriter(tmp_path / "a.mcap", RecordingInfo(load_kg=0.0, rig=rig)) as writer:
        writer.write("force", 0, b"\0")
    recording = read_recording(tmp_path / "a.mcap")
    with pytest.raises(CertificateError, match="no certificate"):
        recording.stream("force")
    assert "force_counts" in recording.stream("force", raw=True)
    with pytest.raises(InputError, match="it has force"):
        recording.stream("cell")


WRITER = textwrap.dedent(
    """
    import struct, sys, time
    from feltload.acquisition import RecordingInfo, RecordingWriter, RigDescription
    from feltload.acquisition.wire.descriptions.schema import StreamDescription
    cell = StreamDescription(name="cell", kind="force", framing="notification",
        fields=[{"name": "seq", "type": "u32"}, {"name": "force", "type": "f64", "unit": "N"}])
    with RecordingWriter(sys.argv[1], RecordingInfo(load_kg=1, rig=RigDescription(streams=(cell,)))) as writer:
        k = 0
        while True:
            writer.write("cell", time.monotonic_ns(), struct.pack("<Id", k, float(k)))
            k += 1
            if k == 1:
                print("recording", flush=True)
            time.sleep(0.002)
    """
)


@pytest.mark.parametrize("after_s", [0.7, 1.1, 1.6])
def test_killed_process_loses_less_than_a_second(tmp_path, after_s):
    path = tmp_path / "a.mcap"
    process = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
    try:
        assert process.stdout is not None and process.stdout.readline() == b"recording\n"
        time.sleep(after_s)
    finally:
        os.kill(process.pid, signal.SIGKILL)
        killed_ns = time.monotonic_ns()
        process.communicate()
    recording = read_recording(path)
    assert recording.damage
    last_s = recording.stream("cell")["host_s"].iloc[-1] + recording.origin_ns * 1e-9
    assert killed_ns * 1e-9 - last_s < 1.0
    assert (np.diff(recording.stream("cell")["seq"]) == 1).all()


def test_killed_while_replacing_the_old_recording_is_whole_and_the_new_one_lies_beside_it(tmp_path):
    path = tmp_path / "a.mcap"
    path.write_bytes(b"the old one")
    replacing = WRITER.replace("streams=(cell,)))", "streams=(cell,))), overwrite=True")
    for name in ("a.unfinished.mcap", "a.unfinished-2.mcap"):
        process = subprocess.Popen([sys.executable, "-c", replacing, str(path)], stdout=subprocess.PIPE)
        try:
            assert process.stdout is not None and process.stdout.readline() == b"recording\n"
            time.sleep(0.7)
        finally:
            os.kill(process.pid, signal.SIGKILL)
            process.communicate()
        assert path.read_bytes() == b"the old one"
        assert len(read_recording(tmp_path / name).stream("cell")) > 10


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
@pytest.mark.parametrize(
    ("kind", "mode"), [("holds", 0o600), ("helped", 0o600), ("machine", 0o644), (None, 0o644)]
)
def test_a_recording_about_a_person_is_the_owners_alone_also_where_it_replaces_another(tmp_path, kind, mode):
    path = tmp_path / "a.mcap"
    before = os.umask(0o022)
    try:
        for content in (None, b"the old one"):
            if content is not None:
                path.write_bytes(content)
                path.chmod(0o644)
            RecordingWriter(path, replace(INFO, kind=kind), overwrite=content is not None).close()
            assert path.stat().st_mode & 0o777 == mode
    finally:
        os.umask(before)
    assert read_recording(path).info.kind == kind
    assert [left.name for left in tmp_path.iterdir()] == ["a.mcap"]


@pytest.mark.needs("fork")
def test_full_disk_keeps_all_that_fits(tmp_path):
    limited = (
        WRITER.replace("import struct", "import resource, signal, struct", 1)
        .replace(
            "cell =",
            "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
            "resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))\ncell =",
            1,
        )
        .replace("time.sleep(0.002)", "writer.flush() if k % 50 == 0 else None")
    )
    path = tmp_path / "a.mcap"
    done = subprocess.run(
        [sys.executable, "-B", "-c", limited, str(path)], capture_output=True, text=True, timeout=60
    )
    assert done.returncode != 0 and "OSError" in done.stderr
    frame = read_recording(path).stream("cell")
    assert len(frame) >= 500 and len(frame) % 50 == 0
    assert (np.diff(frame["seq"]) == 1).all()
