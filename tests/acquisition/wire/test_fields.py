"""Types, units and limits of fields, and what a description may not say."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.link_config import (
    BleLinkConfig,
    ReplayLinkConfig,
    SerialLinkConfig,
)
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription

FORCE = {"name": "force", "type": "i16", "unit": "N"}


@pytest.mark.parametrize(
    ("name", "unit", "column", "factor"),
    [
        ("force", "N", "force_n", 1.0),
        ("force", "kN", "force_n", 1000.0),
        # NIST SP 811 (2008), B.8: kilogram-force 9.806 65 N, pound-force 4.448 222 N (from memory).
        ("force", "kgf", "force_n", 9.80665),
        ("force", "lbf", "force_n", 4.448222),
        ("force", "mV/V", "force_mv_v", 1.0),
        ("force", "counts", "force_counts", 1.0),
        ("gyro_x", "rad/s", "gyro_x_rad_s", 1.0),
        ("gyro_x", "deg/s", "gyro_x_rad_s", np.pi / 180.0),
        ("gyro_x", "counts", "gyro_x_counts", 1.0),
        ("accel_z", "m/s2", "accel_z_m_s2", 1.0),
        ("accel_z", "g", "accel_z_m_s2", 9.80665),
        ("accel_z", "counts", "accel_z_counts", 1.0),
        ("device_time", "s", "device_time", 1.0),
        ("device_time", "ms", "device_time", 1e-3),
        ("device_time", "us", "device_time", 1e-6),
        ("device_time", "ns", "device_time", 1e-9),
        ("seq", "", "seq", 1.0),
    ],
)
def test_units(name, unit, column, factor):
    item = FieldDescription(name=name, unit=unit, scale=2.0)
    assert item.column == column
    assert item.si_factor == pytest.approx(2.0 * factor, rel=1e-7)


@pytest.mark.parametrize(
    ("type_", "letter", "values"),
    [
        ("u8", "B", (0, 255)), ("i8", "b", (-128, 127)), ("u16", "H", (1, 65535)), ("i16", "h", (-32768, 3)),
        ("u32", "I", (1, 2**32 - 1)), ("i32", "i", (-(2**31), 7)), ("u64", "Q", (1, 2**50)),
        ("i64", "q", (-(2**50), 5)), ("f32", "f", (-1.5, 0.25)), ("f64", "d", (-0.1, 1e9)),
    ],
)  # fmt: skip
@pytest.mark.parametrize("order", "<>")
def test_binary_types_as_the_standard_library_packs_them(type_, letter, values, order):
    own = {"type": type_, "big_endian": order == ">"}
    cell = StreamDescription(
        name="cell", kind="force", framing="notification",
        fields=[{"name": "head", "type": "u8"}, FORCE | own, {"name": "tail", "type": "u8"}],
    )  # fmt: skip
    sent = [b"\x07" + struct.pack(order + letter, value) + b"\x09" for value in values]
    out = decode(list(enumerate(sent)), cell)
    assert out.frame["force_n"].tolist() == list(values)
    assert out.health.bad_frames == 0


@pytest.mark.parametrize(
    ("keys", "ends"),
    [
        ({"type": "i16"}, (-32768.0, 32767.0)),
        ({"type": "i24"}, (-8388608.0, 8388607.0)),
        ({"type": "i32"}, (-2147483648.0, 2147483647.0)),
        ({"type": "i16", "limits": (-100.0, 200.0)}, (-100.0, 200.0)),
        ({"type": "u16"}, None),
        ({"type": "f32"}, None),
    ],
)
def test_ends_of_a_converters_range(keys, ends):
    assert FieldDescription(name="force", unit="N", **keys).saturation == ends
    if "limits" not in keys:
        assert FieldDescription(name="year", **keys).saturation is None


@pytest.mark.parametrize(
    ("keys", "size"),
    [({"type": "u8"}, 256), ({"type": "u24"}, 2**24), ({"type": "i16"}, None), ({"wrap": 100}, 100)],
)
def test_where_a_counter_starts_again(keys, size):
    assert FieldDescription(name="seq", **keys).counter_size == size


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        (
            {"name": "force", "unit": "kg"},
            'unit of force must be one of N, kN, kgf, lbf, mV/V, counts, not "kg"',
        ),
        ({"name": "year", "unit": "N"}, 'year takes no unit, but has "N"'),
        ({"name": "force", "unit": "N", "scale": 0.0}, "scale of force must be a number other than 0"),
        (
            {"name": "force", "unit": "N", "scale": float("nan")},
            "scale of force must be a number other than 0",
        ),
        ({"name": "tag", "type": "text", "equals": 5}, "equals of tag must be a word for text"),
        ({"name": "tag", "type": "u8", "equals": "F"}, "equals of tag must be a word for text"),
        ({"name": "force", "unit": "N", "wrap": 256}, "wrap is for seq and device_time, not for force"),
    ],
)
def test_fields_that_cannot_be(keys, said):
    with pytest.raises(ValueError, match=said):
        FieldDescription(**keys)


LINES = {"framing": "lines", "fields": [{"name": "force", "unit": "N"}]}
CLOCK = {"name": "device_time", "unit": "s"}


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        (
            {"checksum": {"name": "CRC-17"}},
            'unknown checksum "CRC-17"; use a name of the public CRC catalogue',
        ),
        ({"fields": [{"name": "force", "unit": "N"}]}, "field force: a notification frame has types u8"),
        (LINES | {"fields": [FORCE]}, "field force: a lines frame has types number or text"),
        (LINES | {"records": LINES["fields"]}, "text lines have no records"),
        (LINES | {"sync": "AA"}, "no other framing has it"),
        ({"prefix": "$"}, 'prefix is for framing = "lines"'),
        ({"framing": "sync"}, "needs sync, such as"),
        ({"framing": "sync", "sync": "AA 5"}, "must be bytes in hexadecimal"),
        ({"framing": "slip", "end": "0D"}, 'end is for framing = "sync"'),
        (
            {"framing": "sync", "sync": "AA", "fields": [], "records": [FORCE]},
            "a field called length, or frame_bytes",
        ),
        (
            {
                "framing": "sync",
                "sync": "AA",
                "frame_bytes": 9,
                "fields": [{"name": "length", "type": "u8"}, FORCE],
            },
            "a length field or frame_bytes, not both",
        ),
        ({"fields": []}, "fields are missing"),
        ({"fields": [FORCE | {"shared": True}]}, "shared, but no field comes before it"),
        ({"fields": [FORCE | {"type": "f32", "bits": (0, 4)}]}, "so its type is a whole number"),
        ({"fields": [FORCE | {"bits": (8, 9)}]}, "not all within its 16 bits"),
        ({"fields": [FORCE | {"counts": "frames"}]}, "counts is for seq"),
        (LINES | {"fields": [{"name": "force", "unit": "N", "bits": (0, 4)}]}, "are for binary frames"),
        (LINES | {"delimiter": "::"}, "delimiter must be one character"),
        (LINES | {"decimal": ","}, "delimiter and decimal mark must differ"),
        ({"fields": [FORCE, FORCE]}, "duplicate field force"),
        (
            {"kind": "inertial"},
            "a inertial stream needs the fields gyro_x, gyro_y, gyro_z, accel_x, accel_y, accel_z",
        ),
        (LINES | {"timing": "column"}, "needs a host_time field"),
        (LINES | {"timing": "common"}, "needs a device_time field"),
        (
            LINES | {"timing": "common", "fields": [CLOCK | {"unit": "ms"}, *LINES["fields"]]},
            "needs a device_time in seconds that does not wrap",
        ),
        (
            LINES | {"timing": "common", "fields": [CLOCK | {"wrap": 60}, *LINES["fields"]]},
            "needs a device_time in seconds that does not wrap",
        ),
        (
            LINES | {"fields": [*LINES["fields"], {"name": "tag", "type": "text", "equals": "F"}]},
            "only the first column of a line can be a word",
        ),
        (
            {"fields": [FORCE | {"present_if": {"field": "flags", "mask": 1, "equals": 1}}]},
            "present_if names flags, which is no field before every optional one",
        ),
    ],
)
def test_descriptions_that_cannot_be(keys, said):
    given = {"name": "cell", "kind": "force", "framing": "notification", "fields": [FORCE]} | keys
    with pytest.raises(ValueError, match=said):
        StreamDescription(**given)


@pytest.mark.parametrize(
    "keys",
    [
        {"checksum": {"name": "CRC-32/ISCSI"}},
        LINES,
        LINES | {"delimiter": "whitespace"},
        LINES | {"decimal": ",", "quoted": True},
        LINES | {"timing": "common", "fields": [CLOCK, *LINES["fields"]]},
    ],
)
def test_descriptions_that_can_be(keys):
    given = {"name": "cell", "kind": "force", "framing": "notification", "fields": [FORCE]} | keys
    assert StreamDescription(**given).measured == ("force",)


def test_flags_are_one_field_of_a_binary_frame():
    def optional(name, flag):
        return {"name": name, "type": "u8", "present_if": {"field": flag, "mask": 1, "equals": 1}}

    flags = [{"name": name, "type": "u8"} for name in ("first", "second")]
    given = {"name": "cell", "kind": "force", "framing": "notification"}
    StreamDescription(**given, fields=[*flags, FORCE, optional("a", "first"), optional("b", "first")])
    with pytest.raises(ValueError, match="present_if works with one flags field of a binary frame"):
        StreamDescription(**given, fields=[*flags, FORCE, optional("a", "first"), optional("b", "second")])
    number = LINES["fields"][0] | {"present_if": {"field": "tag", "mask": 1, "equals": 1}}
    with pytest.raises(ValueError, match="present_if works with one flags field of a binary frame"):
        StreamDescription(**(given | LINES | {"fields": [{"name": "tag"}, number]}))


def test_streams_share_a_channel_where_they_share_a_port_or_a_characteristic():
    def rig(**link):
        streams = [
            StreamDescription(name=name, kind="force", framing="cobs", fields=[FORCE], link=link)
            for name in "ab"
        ]
        return list(RigDescription(streams=streams).channels())

    assert rig(type="serial", port="/dev/ttyACM0") == ["a"]
    assert rig(type="ble", device_name="cell", characteristic="2a9d") == ["a"]
    # A port that is looked for is found by its stream; a file belongs to one.
    assert rig(type="serial") == ["a", "b"]
    assert rig(type="file") == rig(type="replay", path="x.mcap") == ["a", "b"]


def test_links_have_plain_defaults_and_do_not_change():
    assert ReplayLinkConfig(path="x.mcap").speed == 1.0
    serial = SerialLinkConfig()
    assert (serial.port, serial.baud) == ("auto", 115_200)
    assert BleLinkConfig(device_name="cell", characteristic="2a9d").pair is False
    with pytest.raises(ValueError, match="frozen"):
        serial.baud = 9600
    for keys in ({"baud": 0}, {"speed": 2.0}):
        with pytest.raises(ValueError):
            SerialLinkConfig(**keys)
    for speed in (0.0, float("inf"), float("nan")):
        with pytest.raises(ValueError):
            ReplayLinkConfig(path="x.mcap", speed=speed)


def test_two_streams_of_a_rig_have_two_names():
    cell = StreamDescription(name="cell", kind="force", framing="notification", fields=[FORCE])
    with pytest.raises(ValueError, match='two streams are called "cell"'):
        RigDescription(streams=(cell, cell))
    with pytest.raises(KeyError):
        RigDescription(streams=(cell,)).stream("arm")
