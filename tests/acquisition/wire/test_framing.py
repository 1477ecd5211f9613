import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.framing.cobs_frames import cobs_columns
from feltload.acquisition.wire.framing.pieces import split_at
from feltload.acquisition.wire.framing.slip_frames import slip_frames
from published_data import published


@pytest.mark.parametrize(("decoded", "encoded"), published("cobs").items())
def test_cobs_vectors(decoded, encoded):
    columns = np.frombuffer(bytes.fromhex(encoded), dtype=np.uint8)[:, None]
    payload, sound = cobs_columns(columns)
    assert sound.all()
    assert payload[:, 0].tobytes() == bytes.fromhex(decoded)


@pytest.mark.parametrize("length", [1, 2, 20, 253, 254, 255, 600])
def test_cobs_agrees_with_the_library(length):
    rng = np.random.default_rng(length)
    frames = [bytes(rng.integers(0, 3 if k % 2 else 256, length, dtype=np.uint8)) for k in range(50)] + [
        bytes(range(1, 255)) * 2 + bytes(length)
    ]
    for frame in frames:
        columns = np.frombuffer(cobs.encode(frame), dtype=np.uint8)[:, None]
        payload, sound = cobs_columns(columns)
        assert sound.all()
        assert payload[:, 0].tobytes() == frame


def test_a_full_block_stands_for_no_zero():
    # Some encoders close a block of 254 that ends the frame with an empty one.
    whole = bytes(range(1, 255))
    for encoded in (b"\xff" + whole, b"\xff" + whole + b"\x01", b"\x01\xff" + whole):
        payload, sound = cobs_columns(np.frombuffer(encoded, dtype=np.uint8)[:, None])
        assert sound.all()
        assert payload[:, 0].tobytes() == cobs.decode(encoded)


def test_a_damaged_long_frame_leaves_its_neighbours():
    frames = np.random.default_rng(3).integers(1, 256, (4, 600), dtype=np.uint8)
    columns = np.stack(
        [np.frombuffer(cobs.encode(frame.tobytes()), dtype=np.uint8) for frame in frames], axis=1
    )
    columns = columns.copy()
    columns[300, 1] = 0  # A zero within is no COBS.
    payload, sound = cobs_columns(columns)
    assert sound.tolist() == [True, False, True, True]
    assert (frames[sound] == payload[:, sound].T).all()


def test_frames_cut_anywhere_carry_the_stamp_of_their_last_byte():
    flow = b"ab\0cde\0f\0"
    for cut in range(1, len(flow)):
        pieces = split_at(Arrivals.from_pairs([(10, flow[:cut]), (20, flow[cut:])]), 0)
        ends = np.array([2, 6, 8])
        assert pieces.message.tolist() == [0 if end < cut else 1 for end in ends]


def test_reopened_link_joins_nothing():
    pieces = split_at(Arrivals.from_pairs([(1, b"ab\ncd"), (2, b""), (3, b"efg\nh\n")]), 0x0A)
    assert pieces.lengths.tolist() == [2, 3, 1]
    assert pieces.fresh.tolist() == [True, True, False]
    assert pieces.loose_bytes == 2


@pytest.mark.parametrize(("payload", "sent"), published("slip").items())
def test_slip_vectors(payload, sent):
    data, pieces, sound = slip_frames(Arrivals.from_pairs([(0, bytes.fromhex(sent))]))
    assert sound.tolist() == [True]
    start, length = int(pieces.starts[0]), int(pieces.lengths[0])
    assert data[start : start + length].tobytes() == bytes.fromhex(payload)


def test_an_escape_that_slip_does_not_know_spoils_its_frame_only():
    flow = b"\xc0\x01\xc0\xc0\xdb\x01\xc0\xc0\xdb\xdc\xc0\xc0\x02\xdb\xc0\xc0\x03\xc0"
    data, pieces, sound = slip_frames(Arrivals.from_pairs([(0, flow)]))
    assert sound.tolist() == [True, False, True, False, True]
    firsts = [data[start] for start, good in zip(pieces.starts, sound, strict=True) if good]
    assert firsts == [0x01, 0xC0, 0x03]


def test_a_flow_may_end_in_the_midst_of_a_slip_escape():
    data, pieces, sound = slip_frames(Arrivals.from_pairs([(0, b"\xc0ab\xc0cd\xdb")]))
    last = slice(int(pieces.starts[-1]), int(pieces.starts[-1] + pieces.lengths[-1]))
    assert (data[last].tobytes(), bool(sound[-1])) == (b"ab", True)
