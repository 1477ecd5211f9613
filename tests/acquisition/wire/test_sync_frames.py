"""Frames behind a sync word: choice among overlaps, damage counted, how far a flow is whole. Small cases by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.checks.named import check_by_name
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.overlaps import without_overlaps
from feltload.acquisition.wire.framing.sync_frames import sync_frames
from feltload.acquisition.wire.framing.whole import last_whole_frame

FORCE = {"name": "force", "type": "i16", "unit": "N"}


def stream(name="cell", framing="sync", **keys):
    keys = ({"sync": "AA 55"} if framing == "sync" else {}) | keys
    return StreamDescription(name=name, kind="force", framing=framing, fields=[FORCE], **keys)


PLAIN = stream(end="0D 0A")
CHECKED = stream(checksum={"name": "SUM-8", "skip": 2}, end="0D")
OTHER = stream("other", sync="BB 66", checksum={"name": "SUM-8", "skip": 2}, end="0D")


def checked(force_n, sync=b"\xaa\x55"):
    payload = force_n.to_bytes(2, "little")
    return sync + payload + bytes([check_by_name("SUM-8").of(payload)]) + b"\x0d"


@pytest.mark.parametrize(
    ("extents", "weights", "chosen"),
    [
        ([(0, 10), (10, 20), (20, 30)], [1, 1, 1], [1, 1, 1]),
        # One inside a frame lies end to end with nothing.
        ([(0, 10), (4, 14), (10, 20), (20, 30)], [1, 1, 1, 1], [1, 0, 1, 1]),
        # It has more to say for itself (1.2), but less than the two joints of half a point.
        ([(0, 10), (10, 20), (12, 22), (20, 30)], [1, 1, 1.2, 1], [1, 1, 0, 1]),
        # No joints: the greater weight.
        ([(0, 10), (5, 15)], [1, 2], [0, 1]),
        ([(0, 10), (5, 15), (16, 26)], [1, 1.2, 1], [0, 1, 1]),
        # The one before that is worth less lies end to end: 1 + 1 + 0.5 is more than 1.3 + 1.
        ([(0, 9), (2, 10), (10, 20)], [1.3, 1, 1], [0, 1, 1]),
        # Half a point and no more: 1 + 1 + 0.5 is less than 2.7.
        ([(0, 10), (5, 20), (10, 20)], [1, 2.7, 1], [0, 1, 0]),
    ],
)
def test_the_choice_among_overlapping_candidates(extents, weights, chosen):
    starts, ends = np.array(extents).T
    assert without_overlaps(starts, ends, np.array(weights, float)).astype(int).tolist() == chosen


def test_frames_that_something_closes():
    flow = b"".join(checked(k) for k in range(5))
    found = sync_frames(Arrivals.from_pairs([(0, flow)]), CHECKED)
    # 2 of sync, 2 of force, 1 of check; the closing byte belongs to the frame and not to the piece.
    assert found.pieces.starts.tolist() == [0, 6, 12, 18, 24]
    assert found.pieces.lengths.tolist() == [5] * 5
    assert found.ends.tolist() == [6, 12, 18, 24, 30]
    assert (found.bad_checksum, found.bad_frames, found.pieces.loose_bytes) == (0, 0, 0)


def test_damage_between_frames_by_its_bytes():
    damaged = bytearray(checked(2))
    damaged[3] ^= 0xFF
    unclosed = checked(3)[:-1] + b"\x0e"
    flow = checked(1) + bytes(damaged) + checked(4) + unclosed + checked(5) + b"\x01\x02\x03" + checked(6)
    found = sync_frames(Arrivals.from_pairs([(0, flow)]), CHECKED)
    assert found.pieces.starts.tolist() == [0, 12, 24, 33]
    # Two stretches begin like a frame, three bytes like nothing.
    assert (found.bad_checksum, found.bad_frames, found.pieces.loose_bytes) == (2, 1, 15)


def test_frames_of_another_stream_are_its_own():
    flow = checked(1) + checked(2, b"\xbb\x66") + checked(3)
    alone = sync_frames(Arrivals.from_pairs([(0, flow)]), CHECKED)
    beside = sync_frames(Arrivals.from_pairs([(0, flow)]), CHECKED, [OTHER])
    assert (alone.ignored, alone.bad_frames, alone.pieces.loose_bytes) == (0, 1, 6)
    assert (beside.ignored, beside.bad_frames, beside.pieces.loose_bytes) == (1, 0, 0)
    assert beside.pieces.starts.tolist() == [0, 12]
    # The damaged one of the other is a damaged frame, as its sync word is known.
    worse = sync_frames(Arrivals.from_pairs([(0, flow.replace(b"\x66\x02", b"\x66\x04"))]), CHECKED, [OTHER])
    assert (worse.ignored, worse.bad_checksum, worse.bad_frames) == (0, 1, 0)


def test_without_a_checksum_a_frame_is_one_that_others_follow():
    frame = b"\xaa\x55\x10\x00\x0d\x0a"
    # After the second frame one of the same length is destroyed, the third is followed by bytes of no whole frame.
    flow = frame * 2 + bytes(6) + frame + b"\x01\x02" + frame * 2
    found = sync_frames(Arrivals.from_pairs([(0, flow)]), PLAIN)
    assert found.pieces.starts.tolist() == [0, 6, 26, 32]


@pytest.mark.parametrize(
    ("description", "flow", "place"),
    [
        (CHECKED, b"\x01" + checked(1) + checked(2) + checked(3)[:-1], (7, 13)),
        (CHECKED, checked(1)[:-1], (0, 0)),
        (stream(framing="cobs"), b"\x01\x02\x00\x03\x04\x00\x05", (3, 6)),
        (stream(framing="cobs"), b"\x01\x02\x00\x03", (0, 3)),
        (stream(framing="slip"), b"\x01\x02\xc0\x03\x04\x05\xc0\x06", (3, 7)),
        (stream(framing="cobs"), b"\x01\x02\x03", (0, 0)),
        (stream(framing="notification"), b"\x01\x02\x00\x03", (0, 4)),
    ],
)
def test_the_last_whole_frame_of_a_flow_that_still_grows(description, flow, place):
    assert last_whole_frame(flow, description) == place


def test_the_last_whole_frame_may_be_another_stream_s():
    flow = checked(1) + checked(2, b"\xbb\x66")
    assert last_whole_frame(flow, CHECKED) == (0, 6)
    assert last_whole_frame(flow, CHECKED, [OTHER]) == (6, 12)
