"""Frames of several samples with one stamp, and bit fields. Small cases by hand."""

from __future__ import annotations

import struct

import construct
import numpy as np
import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription


def decoded(frames, fields, records=(), **keys):
    keys = {"framing": "notification"} | keys
    cell = StreamDescription(name="cell", kind="force", fields=fields, records=records, **keys)
    return decode([(k * 40_000_000, frame) for k, frame in enumerate(frames)], cell)


FORCE = {"name": "force", "type": "i16", "unit": "N"}
CLOCK = {"name": "device_time", "type": "u16", "unit": "ms"}


def test_without_an_interval_samples_lie_evenly_between_stamps():
    # A frame of four each 40 ms, the clock wraps after 65 536 ms.
    frames = [struct.pack("<H4h", (65_400 + 40 * k) % 65_536, *range(4 * k, 4 * k + 4)) for k in range(10)]
    out = decoded(frames, [CLOCK], [FORCE])
    assert out.frame["force_n"].tolist() == list(range(40))
    assert out.frame["device_s"].to_numpy() == pytest.approx(65.4 + 0.01 * np.arange(40))
    last = decoded(frames, [CLOCK], [FORCE], stamp="last")
    assert last.frame["device_s"].to_numpy() == pytest.approx(65.4 - 0.03 + 0.01 * np.arange(40))


def test_lost_frames_do_not_stretch_the_samples():
    frames = [struct.pack("<H4h", 40 * k, *range(4 * k, 4 * k + 4)) for k in range(20) if k not in (6, 7, 13)]
    out = decoded(frames, [CLOCK], [FORCE])
    assert out.frame["device_s"].to_numpy() == pytest.approx(0.01 * out.frame["force_n"].to_numpy())


def test_a_coarse_clock_gives_the_mean_interval():
    # 833 samples a second, three in a frame: 3.6 ms a frame, stamped in whole ms.
    frames = [struct.pack("<H3h", int(3.6 * k), 0, 0, 0) for k in range(1000)]
    out = decoded(frames, [CLOCK], [FORCE])
    inner = np.diff(out.frame["device_s"].to_numpy().reshape(-1, 3), axis=1)
    assert inner == pytest.approx(0.0012, abs=2e-6)


def test_one_frame_alone_goes_by_the_rate():
    out = decoded([struct.pack("<H4h", 100, 1, 2, 3, 4)], [CLOCK], [FORCE], rate_hz=100.0)
    assert out.frame["device_s"].to_numpy() == pytest.approx([0.1, 0.11, 0.12, 0.13])


def test_a_number_that_counts_frames():
    counter = {"name": "seq", "type": "u8", "counts": "frames"}
    frames = [struct.pack("<B3h", k & 0xFF, k, k, k) for k in range(250, 270) if k != 260]
    out = decoded(frames, [counter], [FORCE])
    assert (out.health.lost, out.health.gaps, out.health.resets, out.health.duplicates) == (3, 1, 0, 0)
    assert out.frame["seq"].iloc[:4].tolist() == [750.0, 751.0, 752.0, 753.0]
    samples = decoded(
        [struct.pack("<B3h", 3 * k, k, k, k) for k in range(9)], [counter | {"counts": "samples"}], [FORCE]
    )
    assert (samples.health.lost, samples.frame["seq"].tolist()) == (0, list(range(27)))
    frames = [struct.pack("<B3h", 3 * k + 2, k, k, k) for k in range(9)]
    last = decoded(frames, [counter | {"counts": "samples"}], [FORCE], stamp="last")
    assert last.frame["seq"].tolist() == list(range(27))


def test_several_samples_behind_a_sync_word():
    frames = [b"\x5a" + struct.pack("<H3h", 30 * k, 3 * k, 3 * k + 1, 3 * k + 2) for k in range(30)]
    flow = b"".join(frames)
    keys = {"framing": "sync", "sync": "5A", "frame_bytes": 9}
    out = decoded([flow[k : k + 7] for k in range(0, len(flow), 7)], [CLOCK], [FORCE], **keys)
    assert out.frame["force_n"].tolist() == list(range(90))
    assert out.frame["device_s"].to_numpy() == pytest.approx(0.01 * np.arange(90))


@pytest.mark.parametrize("signed", [False, True])
def test_bit_fields_as_construct_packs_them(signed):
    # 12 bits of force, 4 of state, in two bytes with the highest first.
    packed = construct.BitStruct(
        "state" / construct.BitsInteger(4), "force" / construct.BitsInteger(12, signed=signed)
    )
    kind = "i16" if signed else "u16"
    fields = [
        {"name": "force", "type": kind, "unit": "N", "bits": (0, 12), "big_endian": True},
        {"name": "seq", "type": "u16", "bits": (12, 4), "big_endian": True, "shared": True},
        {"name": "tail", "type": "u8"},
    ]
    values = [-2048, -1, 0, 1, 2047] if signed else [0, 1, 2047, 2048, 4095]
    frames = [
        packed.build({"state": k + 13 & 15, "force": value}) + b"\x07" for k, value in enumerate(values)
    ]
    out = decoded(frames, fields)
    assert out.frame["force_n"].tolist() == values
    # Four bits count to 16.
    assert out.frame["seq"].tolist() == [13, 14, 15, 16, 17]
    assert out.health.saturated == (2 if signed else 0)


def test_two_readings_of_twelve_bits_in_three_bytes():
    low = {"name": "other", "type": "u24", "bits": (0, 12)}
    high = {"name": "force", "type": "i24", "unit": "N", "bits": (12, 12), "shared": True}
    sent = [(100, -5), (4000, 2000), (0, -2048)]
    frames = [((force & 0xFFF) << 12 | other).to_bytes(3, "little") for other, force in sent]
    assert decoded(frames, [low, high]).frame["force_n"].tolist() == [-5.0, 2000.0, -2048.0]


def test_half_floats():
    frames = [struct.pack("<e", value) for value in (0.5, -1024.0, 65504.0)]
    assert decoded(frames, [FORCE | {"type": "f16"}]).frame["force_n"].tolist() == [0.5, -1024.0, 65504.0]
