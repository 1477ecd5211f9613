"""Frames of one length read together: what one of them is not, the others still are. Small cases by hand."""

from __future__ import annotations

import binascii
import struct

import pytest
from cobs import cobs

from feltload.acquisition import decode, load_stream_description
from feltload.acquisition.wire.descriptions.schema import StreamDescription

FORCE = load_stream_description("reference-force")
INERTIAL = load_stream_description("reference-inertial")
NOTIFIED = load_stream_description("reference-ble-force")
LENGTH = 14
"""Bytes of an encoded force frame without its delimiter: 11 of payload, 2 of checksum, 1 of COBS."""


def frame(seq, counts=0, *, kind=0x46, damaged=False):
    payload = struct.pack("<BHIi", kind, seq, seq * 12_500, counts)
    check = binascii.crc_hqx(payload, 0xFFFF) ^ damaged
    return cobs.encode(payload + struct.pack("<H", check)) + b"\0"


def decoded(frames, description=FORCE, **options):
    return decode([(k * 12_500_000, data) for k, data in enumerate([b"\0", *frames])], description, **options)


def notified(*frames):
    return decode(
        [(k, data + struct.pack("<H", binascii.crc_hqx(data, 0xFFFF))) for k, data in enumerate(frames)],
        NOTIFIED,
    )


def head(first, count, *, interval_us=12_500, kind=0x46):
    return struct.pack("<BHIBH", kind, first, first * 12_500, count, interval_us)


def test_one_foreign_frame_among_its_like_drops_no_other():
    out = decoded([frame(0, 10), frame(1, 11, kind=0x51), frame(1, 12), frame(2, 13)])
    assert out.frame["force_counts"].tolist() == [10, 12, 13]
    assert (out.health.ignored_frames, out.health.bad_frames, out.health.lost) == (1, 0, 0)
    assert out.health.dropped_bytes == 0


def test_nothing_but_foreign_frames_is_no_sample():
    out = decoded([frame(0, kind=0x51), frame(1, kind=0x51)])
    assert out.frame.empty
    assert list(out.frame.columns) == ["host_s", "device_s", "seq", "force_counts"]
    assert (out.health.ignored_frames, out.health.samples) == (2, 0)


def test_one_damaged_frame_among_its_like_drops_no_other():
    out = decoded([frame(0, 10), frame(1, 11, damaged=True), frame(2, 12)])
    assert out.frame["force_counts"].tolist() == [10, 12]
    assert (out.health.bad_checksum, out.health.bad_frames, out.health.lost) == (1, 0, 1)
    assert out.health.dropped_bytes == LENGTH


def test_a_frame_sent_twice_is_one_sample():
    out = decoded([frame(0, 10), frame(1, 11), frame(1, 11), frame(2, 12)])
    assert out.frame["force_counts"].tolist() == [10, 11, 12]
    assert out.frame["seq"].tolist() == [0, 1, 2]
    assert out.frame["host_s"].tolist() == pytest.approx([0.0125, 0.025, 0.05])
    assert (out.health.duplicates, out.health.samples, out.health.lost, out.health.resets) == (1, 3, 0, 0)


def test_frames_of_no_stream_are_bad_and_those_of_a_sibling_are_its_own():
    odd = cobs.encode(b"12345") + b"\0"
    inertial = cobs.encode(bytes(21)) + b"\0"
    alone = decoded([frame(0), odd, inertial, frame(1)])
    assert (alone.health.bad_frames, alone.health.ignored_frames) == (2, 0)
    assert alone.health.dropped_bytes == 6 + 22
    lines = load_stream_description("csv-board-force")
    beside = decoded([frame(0), odd, inertial, frame(1)], siblings=[lines, INERTIAL])
    assert (beside.health.bad_frames, beside.health.ignored_frames) == (1, 1)
    assert beside.health.dropped_bytes == 6


def test_the_first_piece_of_an_opened_link_is_refused_without_blame():
    # What came before it may be cut off: wrong length, wrong COBS, wrong checksum.
    for cut in (frame(9)[5:], b"\x40" + frame(9)[1:], frame(9, damaged=True)):
        out = decode([(0, cut), (1, frame(0)), (2, b""), (3, cut), (4, frame(1))], FORCE)
        assert out.frame["seq"].tolist() == [0, 1]
        assert (out.health.bad_frames, out.health.bad_checksum) == (0, 0)
        assert out.health.dropped_bytes == 2 * (len(cut) - 1)
    # The same later on is damage.
    later = decode([(0, frame(0)), (1, b"\x40" + frame(9)[1:]), (2, frame(1))], FORCE)
    assert (later.health.bad_frames, later.health.dropped_bytes) == (1, LENGTH)


def test_samples_of_a_notification_count_on_from_its_first():
    out = notified(head(10, 2) + struct.pack("<2i", 5, 6), head(12, 3) + struct.pack("<3i", 7, 8, 9))
    assert out.frame["force_counts"].tolist() == [5, 6, 7, 8, 9]
    assert out.frame["seq"].tolist() == [10, 11, 12, 13, 14]
    # 12 500 us each, from 10 x 12 500 us on.
    assert out.frame["device_s"].tolist() == pytest.approx([0.125, 0.1375, 0.15, 0.1625, 0.175])


def test_a_count_that_is_not_the_number_of_records_is_a_bad_frame():
    out = notified(
        head(0, 2) + struct.pack("<2i", 5, 6),
        head(2, 3) + struct.pack("<2i", 7, 8),
        head(4, 2) + struct.pack("<2i", 9, 10),
    )
    assert out.frame["force_counts"].tolist() == [5, 6, 9, 10]
    assert (out.health.bad_frames, out.health.ignored_frames, out.health.lost) == (1, 0, 2)
    # A foreign frame is not also a bad one.
    assert notified(head(0, 9, kind=0x51) + struct.pack("<2i", 7, 8)).health.bad_frames == 0


def test_a_notification_without_samples_is_none():
    out = notified(head(0, 0), head(0, 1) + struct.pack("<i", 5))
    assert out.frame["force_counts"].tolist() == [5]
    assert out.health.bad_frames == 0


def test_saturation_is_counted_among_own_samples_only():
    top, bottom = 8_388_607, -8_388_608
    out = notified(
        head(0, 2) + struct.pack("<2i", top, 0),
        head(2, 2, kind=0x51) + struct.pack("<2i", top, top),
        head(2, 2) + struct.pack("<2i", bottom, top - 1),
        head(4, 2) + struct.pack("<2i", bottom + 1, 0),
    )
    assert out.health.saturated == 2
    assert len(out.frame) == 6


def test_a_value_that_means_none_leaves_out_its_sample_only():
    cell = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        fields=[{"name": "seq", "type": "u8"}],
        records=[{"name": "force", "type": "i16", "unit": "N", "scale": 0.1, "zero": 4, "invalid": -1}],
    )
    out = decode([(0, struct.pack("<B3h", 7, 104, -1, 204)), (1, struct.pack("<B3h", 10, 4, 14, 24))], cell)
    # (104 - 4) x 0.1 N.
    assert out.frame["force_n"].tolist() == pytest.approx([10.0, 20.0, 0.0, 1.0, 2.0])
    assert out.frame["seq"].tolist() == [7, 9, 10, 11, 12]


def test_flags_behind_another_field_say_which_fields_are_there():
    cell = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        fields=[
            {"name": "seq", "type": "u8"},
            {"name": "flags", "type": "u8"},
            {"name": "note", "type": "u16", "present_if": {"field": "flags", "mask": 6, "equals": 4}},
            {"name": "force", "type": "i16", "unit": "N"},
        ],
    )
    # Flags 4 and 5 bring a note, 0 and 6 do not; 4 without its note is too short.
    sent = [(4, 99, 5), (0, 6), (5, 99, 7), (6, 8), (4, 9)]
    out = decode([(k, struct.pack(f"<BB{len(item) - 1}h", k, *item)) for k, item in enumerate(sent)], cell)
    assert out.frame["force_n"].tolist() == [5.0, 6.0, 7.0, 8.0]
    assert out.frame["seq"].tolist() == [0, 1, 2, 3]
    assert (out.health.bad_frames, out.health.dropped_bytes) == (1, 4)
