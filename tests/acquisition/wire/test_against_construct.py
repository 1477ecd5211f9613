"""Random frames of random layouts, packed by `construct` with checks of `anycrc`, damaged and decoded.

No sound frame may be dropped next to a damaged one, and none made up beyond the odds of the check.
"""

from __future__ import annotations

import anycrc
import construct
import numpy as np
import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription

WIRE = {
    "u8": construct.Int8ub, "u16": construct.Int16ul, "u24": construct.Int24ul, "u32": construct.Int32ul,
    "i16": construct.Int16sl, "i24": construct.Int24sl, "i32": construct.Int32sl, "f32": construct.Float32l,
    "f64": construct.Float64l,
}  # fmt: skip
BIG = {
    "u8": construct.Int8ub, "u16": construct.Int16ub, "u24": construct.Int24ub, "u32": construct.Int32ub,
    "i16": construct.Int16sb, "i24": construct.Int24sb, "i32": construct.Int32sb, "f32": construct.Float32b,
    "f64": construct.Float64b,
}  # fmt: skip
CHECKS = {
    "CRC-16/CCITT-FALSE": ("CRC16-IBM-3740", 2),
    "CRC-16/MODBUS": ("CRC16-MODBUS", 2),
    "CRC-32": ("CRC32-ISO-HDLC", 4),
    "CRC-24/OPENPGP": ("CRC24-OPENPGP", 3),
}


def layout(rng, big_endian):
    """A random frame of a load cell: its fields, and the struct that packs it."""
    kinds = ["seq:u16", f"force:{rng.choice(['i16', 'i24', 'i32', 'f32', 'f64'])}"]
    kinds += [f"other_{k}:{rng.choice(['u8', 'u24', 'f32'])}" for k in range(rng.integers(0, 4))]
    kinds = [str(kind) for kind in rng.permutation(kinds)]
    fields, parts = [], []
    for kind in kinds:
        name, type_ = kind.split(":")
        fields.append({"name": name, "type": type_, "big_endian": big_endian})
        if name == "force":
            fields[-1]["unit"] = "N"
        parts.append(name / (BIG if big_endian else WIRE)[type_])
    return fields, construct.Struct(*parts)


def values(rng, fields, seq):
    out = {item["name"]: int(rng.integers(0, 200)) for item in fields}
    return out | {"force": int(rng.integers(-30_000, 30_000)), "seq": seq & 0xFFFF}


def damaged(frame, rng):
    """The frame with a byte changed, left out, added, or its end cut off."""
    frame = bytearray(frame)
    place = int(rng.integers(0, len(frame)))
    match rng.integers(0, 4):
        case 0:
            frame[place] ^= int(rng.integers(1, 256))
        case 1:
            del frame[place]
        case 2:
            frame.insert(place, int(rng.integers(0, 256)))
        case _:
            del frame[place:]
    return bytes(frame)


def sent_and_flow(pack, rng, fields, count=400, share=0.2):
    """Number and force of the sound frames, those of all, and all bytes."""
    sound, every, flow = set(), set(), []
    hit = rng.random(count) < share
    for seq in range(count):
        sent = values(rng, fields, seq)
        frame = pack(sent)
        every.add((sent["seq"], float(sent["force"])))
        if hit[seq] and seq:
            flow.append(damaged(frame, rng))
        else:
            flow.append(frame)
            sound.add((sent["seq"], float(sent["force"])))
    return sound, every, b"".join(flow)


def in_pieces(flow, rng):
    """As reads of a port bring it: cut anywhere."""
    cuts = np.sort(rng.choice(len(flow), len(flow) // 40, replace=False))
    parts = [part.tobytes() for part in np.split(np.frombuffer(flow, dtype=np.uint8), cuts)]
    return [(k * 1_000_000, part) for k, part in enumerate(parts) if part]


def slip(payload):
    """As RFC 1055 has it: END in front and behind."""
    stuffed = payload.replace(b"\xdb", b"\xdb\xdd").replace(b"\xc0", b"\xdb\xdc")
    return b"\xc0" + stuffed + b"\xc0"


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("framing", ["fixed", "length", "slip"])
def test_random_frames_with_damage(framing, seed):
    rng = np.random.default_rng([seed, len(framing)])
    big_endian = bool(rng.integers(0, 2))
    fields, struct = layout(rng, big_endian)
    name, (model, size) = list(CHECKS.items())[seed % len(CHECKS)]
    crc = anycrc.Model(model)
    order = "big" if seed % 3 == 0 else "little"
    sync = rng.bytes(int(rng.integers(1, 4)))
    end = b"\x0d\x0a" if seed % 4 == 1 else b""
    skip = 0 if framing == "slip" else int(rng.integers(0, len(sync) + 1))
    keys = {"checksum": {"name": name, "big_endian": order == "big", "skip": skip}}
    keys["framing"] = "slip" if framing == "slip" else "sync"
    if framing != "slip":
        keys |= {"sync": sync.hex(" "), "end": end.hex(" ")}
    wire_fields = fields
    if framing == "length":
        keys["length_adds"] = int(rng.integers(-2, 9))
        whole = len(sync) + 1 + struct.sizeof() + size + len(end)
        wire_fields = [{"name": "length", "type": "u8"}, *fields]
    else:
        whole = 0

    def pack(sent):
        body = struct.build(sent)
        if framing == "length":
            body = bytes([whole - keys["length_adds"]]) + body
        if framing != "slip":
            body = sync + body
        body += int(crc.calc(body[skip:])).to_bytes(size, order)
        return slip(body) if framing == "slip" else body + end

    description = StreamDescription(name="cell", kind="force", fields=wire_fields, **keys)
    sound, every, flow = sent_and_flow(pack, rng, fields)
    out = decode(in_pieces(flow, rng), description)
    found = set(zip(out.frame["seq"].astype(int), out.frame["force_n"], strict=True))
    assert len(found) == len(out.frame)
    assert sound - found == set()
    # A byte more in front, or a changed one that is its old self, leaves a damaged frame whole.
    assert found - every == set()
    assert len(found - sound) < 0.06 * len(every)
    damage = out.health.bad_checksum + out.health.bad_frames
    assert 0.1 * len(every) < damage < 0.3 * len(every)


def test_a_sync_word_inside_the_payload_cuts_nothing():
    rng = np.random.default_rng(4)
    description = StreamDescription(
        name="cell", kind="force", framing="sync", sync="AA 55", checksum={"name": "CRC-16/MODBUS"},
        fields=[{"name": "seq", "type": "u16"}, {"name": "force", "type": "i32", "unit": "N"}],
    )  # fmt: skip
    crc = anycrc.Model("CRC16-MODBUS")
    force = int.from_bytes(b"\xaa\x55\xaa\x55", "little", signed=True)
    frames = []
    for k in range(200):
        body = b"\xaa\x55" + k.to_bytes(2, "little") + force.to_bytes(4, "little", signed=True)
        frames.append(body + int(crc.calc(body)).to_bytes(2, "little"))
    frames[70] = damaged(frames[70], rng)
    out = decode([(0, b"".join(frames))], description)
    assert out.frame["seq"].tolist() == [k for k in range(200) if k != 70]
    assert (out.health.bad_checksum, out.health.bad_frames, out.health.lost) == (1, 0, 1)


def test_without_a_checksum_a_frame_is_one_that_another_follows():
    description = StreamDescription(
        name="cell", kind="force", framing="sync", sync="AA 55",
        fields=[{"name": "seq", "type": "u8"}, {"name": "force", "type": "i16", "unit": "N"}],
    )  # fmt: skip
    frames = [b"\xaa\x55" + bytes([k]) + (3 * k).to_bytes(2, "little", signed=True) for k in range(100)]
    frames[20] = frames[20][:3]
    frames[40] += b"\x00"
    frames[60] = b"\xab" + frames[60][1:]
    # Payload that looks like a sync word.
    frames[80] = b"\xaa\x55\x50\xaa\x55"
    out = decode([(0, b"".join(frames))], description)
    assert out.frame["seq"].tolist() == [k for k in range(100) if k not in (20, 40, 60)]
    assert out.frame["force_n"].iloc[77] == 0x55AA


def test_two_streams_behind_one_sync_word():
    crc = anycrc.Model("CRC8-SMBUS")
    axes = [f"{name}_{axis}" for name in ("gyro", "accel") for axis in "xyz"]

    def unit(name):
        return "deg/s" if name[0] == "g" else "g"

    common = {"framing": "sync", "sync": "7E", "checksum": {"name": "CRC-8"}}
    force = StreamDescription(
        name="force", kind="force", **common,
        fields=[{"name": "kind", "type": "u8", "equals": 1}, {"name": "force", "type": "i16", "unit": "N"}],
    )  # fmt: skip
    inertial = StreamDescription(
        name="inertial", kind="inertial", **common,
        fields=[
            {"name": "kind", "type": "u8", "equals": 2},
            *({"name": n, "type": "i16", "unit": unit(n)} for n in axes),
        ],
    )  # fmt: skip
    flow = b""
    for k in range(50):
        for body in (
            b"\x7e\x01" + k.to_bytes(2, "little"),
            b"\x7e\x02" + b"".join((k + j).to_bytes(2, "little") for j in range(6)),
        ):
            flow += body + bytes([int(crc.calc(body))])
    for own, other in ((force, inertial), (inertial, force)):
        out = decode([(0, flow)], own, siblings=[other])
        assert len(out.frame) == 50
        assert (out.health.bad_frames, out.health.bad_checksum, out.health.ignored_frames) == (0, 0, 50)


@pytest.mark.parametrize("framing", ["sync", "slip"])
def test_noise_makes_up_nothing(framing):
    description = StreamDescription(
        name="cell", kind="force", framing=framing, checksum={"name": "CRC-32"},
        fields=[{"name": "length", "type": "u8"}, {"name": "force", "type": "i32", "unit": "N"}],
        **({"sync": "AA"} if framing == "sync" else {}),
    )  # fmt: skip
    rng = np.random.default_rng(8)
    out = decode([(k, rng.bytes(50)) for k in range(4000)], description)
    assert out.frame.empty
    assert decode([], description).frame.empty
    assert decode([(0, b"\xaa" * 5000)], description).frame.empty
