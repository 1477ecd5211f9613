"""What a person said about a session, damaged on the disk: reported, read from its copy, never silently another."""

import struct
from dataclasses import replace
from pathlib import Path

import pytest

from feltload.acquisition import (
    CertificateError,
    RecordingError,
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    read_recording,
)
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import Fact, Severity

STORED = Path(__file__).parents[1] / "stored"
CELL = StreamDescription(
    name="cell",
    kind="force",
    framing="notification",
    rate_hz=100.0,
    serial="C-1",
    fields=[{"name": "seq", "type": "u16"}, {"name": "force", "type": "f32", "unit": "N"}],
)
INFO = RecordingInfo(
    load_kg=40.0,
    load_u_kg=0.4,
    rig=RigDescription(name="invented", streams=(CELL,)),
    side="left",
    tempo="3-1-3",
    notes="invented",
    started_utc="2026-11-25T10:00:00.000+00:00",
    machine_toml='name = "bench"\n',
    certificates={"cell": '{"kind": "force"}'},
    kind="holds",
    load_stated="88 lb",
)
START_NS = 5_000_000_000


@pytest.fixture
def path(tmp_path):
    with RecordingWriter(tmp_path / "a.mcap", INFO, start_ns=START_NS) as writer:
        for k in range(60):
            writer.write("cell", START_NS + k * 10_000_000, struct.pack("<Hf", k, k / 2))
    return tmp_path / "a.mcap"


def spoil(path, old, new, *, last=False):
    whole = path.read_bytes()
    at = whole.rindex(old) if last else whole.index(old)
    path.write_bytes(whole[:at] + new + whole[at + len(old) :])


def kinds(recording):
    return [fact.kind for fact in recording.damage]


def test_every_byte_before_the_first_block_is_looked_after(path):
    """Whatever is turned: the same info and samples or one clear error; and where something is lost, it is said."""
    whole = path.read_bytes()
    first_block = whole.index(bytes.fromhex("28b52ffd"))  # frame magic of RFC 8878
    described = range(whole.index(b"load_kg"), whole.index(b"channels") - 13)
    reported = 0
    for place in range(8, first_block):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << (place % 8)
        path.write_bytes(damaged)
        try:
            recording = read_recording(path)
        except RecordingError as error:
            # The first bytes say that it is a recording at all.
            assert place < 60, (place, error)
            continue
        info, damage = recording.info, kinds(recording)
        assert (info.load_kg, info.load_u_kg, info.side) == (40.0, 0.4, "left")
        assert info.load_stated == "88 lb"
        assert (info.tempo, info.kind) == ("3-1-3", "holds")
        assert (info.rig, info.notes, info.started_utc) == (INFO.rig, INFO.notes, INFO.started_utc)
        assert recording.origin_ns == START_NS
        assert info.machine_toml == INFO.machine_toml
        assert info.certificates == INFO.certificates
        frame = recording.stream("cell", raw=True)
        assert frame["force_n"].tolist() == [k / 2 for k in range(60)] or DamageFact.RECORDING_ENDS in damage
        reported += bool(damage) and place in described
    # The others are times and media types of the files, and checksums that their digests make up for.
    assert reported > 0.9 * len(described)


@pytest.mark.parametrize("last", [False, True])
def test_where_one_copy_is_damaged_the_other_is_read(path, last):
    spoil(path, b"40.0", b"10.0", last=last)
    recording = read_recording(path)
    assert recording.info.load_kg == 40.0
    assert kinds(recording) == [DamageFact.DESCRIPTION_COPY_DAMAGED]
    assert len(recording.stream("cell", raw=True)) == 60


def test_both_copies_damaged_names_the_value(path):
    spoil(path, b"40.0", b"10.0")
    spoil(path, b"40.0", b"48.0")
    with pytest.raises(
        RecordingError, match=r"a\.mcap: its description in both copies \(load_kg\) is damaged; take"
    ):
        read_recording(path)


@pytest.mark.parametrize("last", [False, True])
@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("rig.json", b'"unit":"N"', b'"unit":"g"'),
        ("machine.toml", b'name = "bench"', b'name = "bunch"'),
        ("certificates/cell.json", b'{"kind": "force"}', b'{"kind": "farce"}'),
    ],
)
def test_one_damaged_copy_of_a_file_costs_nothing(path, file, old, new, last):
    spoil(path, old, new, last=last)
    recording = read_recording(path)
    assert recording.damage == (Fact(DamageFact.FILE_COPY_DAMAGED, Severity.NOTE, figures={"file": file}),)
    assert recording.info.rig == INFO.rig
    assert recording.info.machine_toml == INFO.machine_toml
    assert recording.info.certificates == INFO.certificates


def test_a_damaged_sensor_description_is_named_and_may_be_given_again(path):
    for _ in range(2):
        spoil(path, b'"unit":"N"', b'"unit":"g"')
    with pytest.raises(
        RecordingError, match=r"its sensors \(rig\.json\) is damaged; .* or give the rig file with --rig"
    ):
        read_recording(path)
    again = read_recording(path, rig=INFO.rig, rig_from="rig.toml")
    assert again.stream("cell", raw=True)["force_n"].tolist() == [k / 2 for k in range(60)]
    assert again.damage == (Fact(DamageFact.SENSORS_REPLACED, Severity.NOTE, figures={"file": "rig.toml"}),)


def test_a_rig_of_other_sensors_is_refused(path):
    other = RigDescription(streams=(CELL.model_copy(update={"name": "grip"}),))
    with pytest.raises(
        RecordingError, match=r"other\.toml describes grip, in it are cell; give the rig file"
    ):
        read_recording(path, rig=other, rig_from="other.toml")


def test_a_damaged_machine_file_is_left_out_and_said(path):
    for _ in range(2):
        spoil(path, b'name = "bench"', b'name = "bunch"')
    recording = read_recording(path)
    assert recording.info.machine_toml is None
    assert kinds(recording) == [DamageFact.MACHINE_FILE_LEFT_OUT]


def test_a_damaged_certificate_is_refused_and_may_be_given_again(path):
    """Without it the force would be that of another calibration, or none."""
    for _ in range(2):
        spoil(path, b'{"kind": "force"}', b'{"kind": "farce"}')
    recording = read_recording(path)
    assert recording.damage == (Fact(DamageFact.CERTIFICATE_DAMAGED, figures={"certificate": "cell"}),)
    assert len(recording.stream("cell", raw=True)) == 60
    with pytest.raises(CertificateError, match='the certificate "cell" in it is damaged; give it again'):
        recording.stream("cell")
    again = read_recording(path, certificates={"cell": "{}"})
    with pytest.raises(CertificateError, match="not a usable certificate"):
        again.stream("cell")


def test_a_cut_file_says_both(path):
    spoil(path, b"3-1-3", b"3-1-4")
    path.write_bytes(path.read_bytes()[:-40])
    copy, index, ends = read_recording(path).damage
    assert (copy.kind, index.kind, ends.kind) == (
        DamageFact.DESCRIPTION_COPY_DAMAGED,
        DamageFact.INDEX_DAMAGED,
        DamageFact.RECORDING_ENDS,
    )
    assert ends.figure("at_s") == pytest.approx(0.59)


def test_a_recording_of_before_there_was_a_digest_is_read():
    """Written by the version before; no copy and no digest in it."""
    path = STORED / "recording-without-digest.mcap"
    assert b"sha256" not in path.read_bytes()
    recording = read_recording(path)
    assert recording.damage == ()
    assert recording.info.load_kg == 40.0
    assert recording.info.rig.streams == (CELL,)
    assert recording.info.machine_toml == 'name = "bench"\n'
    assert recording.info.certificates == {"other": "{}"}
    assert recording.info.kind is None
    assert not recording.info.rig.invented
    assert recording.stream("cell")["force_n"].tolist() == [k / 2 for k in range(60)]
    assert [mark.kind for mark in recording.marks] == ["tare", "note"]
    assert recording.health["cell"].dropped_messages == 3


def test_its_attachments_have_checksums_all_the_same(tmp_path):
    path = tmp_path / "old.mcap"
    path.write_bytes((STORED / "recording-without-digest.mcap").read_bytes())
    spoil(path, b'name = "bench"', b'name = "bunch"')
    assert kinds(read_recording(path)) == [DamageFact.MACHINE_FILE_LEFT_OUT]


@pytest.mark.parametrize(
    ("rig", "invented"),
    [
        ({"name": "bench", "invented": True}, True),
        ({"name": "our invented grip, emulated press (invented)"}, False),
        ({"name": "lever-row, emulated (invented)", "invented": False}, False),
    ],
)
def test_the_flag_marks_an_emulated_rig_and_words_do_not(tmp_path, rig, invented):
    """A coach may well note that a grip was invented; nothing that she measured is."""
    info = replace(INFO, rig=RigDescription(streams=(CELL,), **rig), notes="with the grip we invented today")
    RecordingWriter(tmp_path / "b.mcap", info, start_ns=START_NS).close()
    assert read_recording(tmp_path / "b.mcap").info.rig.invented is invented
