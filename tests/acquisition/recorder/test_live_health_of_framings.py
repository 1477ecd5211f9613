"""Counts taken window by window are those of all bytes at once, for frames that have no delimiter too."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from feltload.acquisition import decode
from feltload.acquisition.recorder.live_health import LiveHealth
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from unknown_boards import crc, slip

CHECK = crc("CRC16-MODBUS", 2)
FIELDS = [{"name": "seq", "type": "u16"}, {"name": "force", "type": "i32", "unit": "N"}]


def frames(framing: str) -> list[bytes]:
    out = []
    for k in range(600):
        body = struct.pack("<Hi", k, 1000 * k)
        body = slip(body + CHECK(body)) if framing == "slip" else b"\xaa\x55" + body
        out.append(body if framing == "slip" else body + CHECK(body))
    return out


@pytest.mark.parametrize("framing", ["sync", "slip"])
def test_windows_add_up_to_the_whole(framing):
    rng = np.random.default_rng(5)
    sync = {"sync": "AA 55"} if framing == "sync" else {}
    cell = StreamDescription(
        name="cell", kind="force", framing=framing, fields=FIELDS, checksum={"name": "CRC-16/MODBUS"}, **sync
    )
    sent = frames(framing)
    for k in (40, 41, 200, 333):
        sent[k] = sent[k][:4] + bytes([sent[k][4] ^ 0x21]) + sent[k][5:]
    flow = b"".join(sent)
    cuts = np.sort(rng.choice(len(flow), 150, replace=False)).tolist()
    messages = [
        (k * 10_000_000, flow[low:high])
        for k, (low, high) in enumerate(zip([0, *cuts], [*cuts, len(flow)], strict=True))
    ]
    live = LiveHealth(cell)
    for start in range(0, len(messages), 7):
        window = messages[start : start + 7]
        live.feed(window, window[-1][0])
    whole = decode(messages, cell).health
    names = ("samples", "bad_checksum", "bad_frames", "ignored_frames", "lost", "resets", "duplicates")
    assert {name: getattr(live.total, name) for name in names} == {
        name: getattr(whole, name) for name in names
    }
    assert (whole.samples, whole.bad_checksum + whole.bad_frames) == (596, 3 if framing == "sync" else 4)
