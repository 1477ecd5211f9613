"""Decoding and opening recordings against readline, split and float; prints a table.

All work is in one thread; times are processor times.

    OPENBLAS_NUM_THREADS=1 python benchmarks/bench_decode.py --minutes 60
"""

from __future__ import annotations

import argparse
import binascii
import functools
import io
import operator
import struct
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from cobs import cobs

from feltload.acquisition import (
    Arrivals,
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    StreamDescription,
    decode,
    load_stream_description,
    read_recording,
)

RATE_HZ = 1000
GATHERED = 8
"""Frames per message: what a serial reader gathers in 8 ms."""


def frames(kind: str, n: int) -> list[bytes]:
    """Frames of the reference protocol with noise in them."""
    rng = np.random.default_rng(1)
    force = rng.normal(2e6, 1e5, n).astype(int)
    axes = rng.normal(0, 3000, (n, 6)).astype(np.int16)
    out = []
    for k in range(n):
        clock = (k * 1_000_000 // RATE_HZ) & 0xFFFFFFFF
        if kind == "force":
            payload = struct.pack("<BHIi", 0x46, k & 0xFFFF, clock, int(force[k]))
        else:
            payload = struct.pack("<BHI6h", 0x49, k & 0xFFFF, clock, *axes[k].tolist())
        payload += struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))
        out.append(cobs.encode(payload) + b"\0")
    return out


def other_frames(n: int) -> dict[str, list[bytes]]:
    """The same readings behind a sync word, length-prefixed, as SLIP frames and as sentences with a check value."""
    rng = np.random.default_rng(1)
    axes = rng.normal(0, 3000, (n, 6)).astype(np.int16)
    out: dict[str, list[bytes]] = {"sync": [], "length": [], "slip": [], "sentences": []}
    for k in range(n):
        payload = struct.pack("<HI6h", k & 0xFFFF, (k * 1000) & 0xFFFFFFFF, *axes[k].tolist())
        for name, head in (("sync", b"\xaa\x55"), ("length", b"\xaa\x55\x12"), ("slip", b"")):
            frame = head + payload
            frame += struct.pack("<H", binascii.crc_hqx(frame, 0xFFFF))
            if name == "slip":
                frame = frame.replace(b"\xdb", b"\xdb\xdd").replace(b"\xc0", b"\xdb\xdc") + b"\xc0"
            out[name].append(frame)
        text = b"BCH,%d,%.3f" % (k, 200 + 0.01 * (k % 700))
        out["sentences"].append(b"$%s*%02X\r\n" % (text, functools.reduce(operator.xor, text)))
    return out


def other_descriptions() -> dict[str, StreamDescription]:
    """Their descriptions."""
    inertial = load_stream_description("reference-inertial")
    common = {
        "name": "inertial",
        "kind": "inertial",
        "rate_hz": RATE_HZ,
        "checksum": {"name": "CRC-16/IBM-3740"},
    }
    fields = list(inertial.fields[1:])
    behind = {"framing": "sync", "sync": "AA 55"}
    made = {
        "sync": {**common, **behind, "fields": fields},
        "length": {
            **common, **behind, "length_adds": 5, "fields": [{"name": "length", "type": "u8"}, *fields],
        },
        "slip": {**common, "framing": "slip", "fields": fields},
        "sentences": {
            "name": "force", "kind": "force", "rate_hz": RATE_HZ, "framing": "lines", "prefix": "$",
            "checksum": {"name": "XOR-8"},
            "fields": [
                {"name": "tag", "type": "text", "equals": "BCH"},
                {"name": "device_time", "unit": "ms"},
                {"name": "force", "unit": "N"},
            ],
        },
    }  # fmt: skip
    return {name: StreamDescription.model_validate(keys) for name, keys in made.items()}


def plain_sync(data: bytes) -> list[tuple[float, ...]]:
    """What a user would write for frames of 22 bytes behind a sync word: find, CRC, struct."""
    rows, place = [], 0
    while (place := data.find(b"\xaa\x55", place)) >= 0:
        frame = data[place : place + 22]
        good = len(frame) == 22 and binascii.crc_hqx(frame[:-2], 0xFFFF) == int.from_bytes(
            frame[-2:], "little"
        )
        if good:
            seq, clock, *axes = struct.unpack("<HI6h", frame[2:-2])
            rows.append((seq, clock * 1e-6, *(axis * 5.3e-4 for axis in axes)))
        place += 22 if good else 1
    return rows


def gathered(parts: list[bytes]) -> list[tuple[int, bytes]]:
    """Messages of several frames each, stamped with their end."""
    period = 1_000_000_000 // RATE_HZ
    return [
        ((k + GATHERED) * period, b"".join(parts[k : k + GATHERED])) for k in range(0, len(parts), GATHERED)
    ]


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Least processor time of a few runs; unlike wall time it does not depend on what else runs."""
    best = float("inf")
    for _ in range(repeats):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def plain_frames(data: bytes) -> list[tuple[float, ...]]:
    """What a user would write for frames: split, cobs, CRC, struct, one by one."""
    rows = []
    for encoded in data.split(b"\0"):
        if encoded:
            payload = cobs.decode(encoded)
            if binascii.crc_hqx(payload[:-2], 0xFFFF) == int.from_bytes(payload[-2:], "little"):
                _, seq, clock, *axes = struct.unpack("<BHI6h", payload[:-2])
                rows.append((seq, clock * 1e-6, *(axis * 5.3e-4 for axis in axes)))
    return rows


def plain_lines(data: bytes) -> list[tuple[float, float]]:
    """What a user would write for lines: readline, split, float."""
    rows = []
    stream = io.BytesIO(data)
    while line := stream.readline():
        clock, force = line.decode().strip().split(",")
        rows.append((float(clock) * 1e-3, float(force)))
    return rows


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--minutes", type=float, default=60.0)
    minutes = parser.parse_args().minutes
    n = 1_000_000
    inertial = load_stream_description("reference-inertial", changes={"rate_hz": RATE_HZ})
    force = load_stream_description(
        "reference-force", changes={"rate_hz": RATE_HZ, "set": {"force": {"unit": "N", "scale": 1e-4}}}
    )
    board = load_stream_description("csv-board-force", changes={"rate_hz": RATE_HZ})
    print("| work | this package | plain loop | ratio |\n| --- | --- | --- | --- |")
    flow = Arrivals.from_pairs(gathered(frames("inertial", n)))
    text = Arrivals.from_pairs(gathered([b"%d,%.3f\n" % (k, 200 + np.sin(k * 0.01)) for k in range(n)]))
    for name, arrivals, description, plain in (
        ("inertial frames, COBS + CRC", flow, inertial, plain_frames),
        ("text lines, two columns", text, board, plain_lines),
    ):
        ours = seconds(lambda a=arrivals, d=description: decode(a, d))  # type: ignore[misc]
        data = arrivals.data.tobytes()
        theirs = seconds(lambda b=data, p=plain: p(b), repeats=1)  # type: ignore[misc]
        print(
            f"| {name} | {n / ours / 1e6:.2f} M/s | {n / theirs / 1e6:.2f} M/s | {theirs / ours:.1f} |",
            flush=True,
        )
    titles = {
        "sync": "frames behind a sync word + CRC",
        "length": "length-prefixed frames + CRC",
        "slip": "SLIP frames + CRC",
        "sentences": "sentences, star and two digits",
    }
    described = other_descriptions()
    for key, parts in other_frames(n // 2).items():
        others = Arrivals.from_pairs(gathered(parts))
        ours = seconds(lambda a=others, d=described[key]: decode(a, d))  # type: ignore[misc]
        data = others.data.tobytes()
        theirs = seconds(lambda b=data: plain_sync(b), repeats=1) if key == "sync" else None  # type: ignore[misc]
        loop = "| |" if theirs is None else f"{len(parts) / theirs / 1e6:.2f} M/s | {theirs / ours:.1f} |"
        print(f"| {titles[key]} | {len(parts) / ours / 1e6:.2f} M/s | {loop}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hour.mcap"
        count = int(minutes * 60 * RATE_HZ)
        rig = RigDescription(streams=(force, inertial))
        with RecordingWriter(path, RecordingInfo(load_kg=40.0, rig=rig), start_ns=0) as writer:
            streams = [gathered(frames(kind, count)) for kind in ("force", "inertial")]
            start = time.process_time()
            for pair in zip(*streams, strict=True):
                for stream, (stamp, data) in zip(rig.streams, pair, strict=True):
                    writer.write(stream.name, stamp, data)
            write_s = time.process_time() - start
        messages = 2 * len(streams[0])
        del streams

        def opened() -> None:
            recording = read_recording(path)
            for stream in rig.streams:
                assert len(recording.stream(stream.name)) == count

        read_s = seconds(lambda: read_recording(path), repeats=1)
        open_s = seconds(opened, repeats=2)
        size = path.stat().st_size / 1e6
    print(
        f"\n{minutes:g} min of 2 x {RATE_HZ} Hz ({messages} messages, {size:.0f} MB): "
        f"writing {write_s / messages * 1e6:.1f} us a message, reading the file {read_s:.2f} s, "
        f"reading and decoding both streams {open_s:.2f} s"
    )


if __name__ == "__main__":
    main()
