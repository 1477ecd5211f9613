"""Sample times through stalls of the host, from bytes: right within the stated uncertainty, against the truth."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from feltload.acquisition import Arrivals, StreamDescription, decode
from feltload.emulator import send_over_stalls
from feltload.signal import join_clock

TYPES = {"u8": "B", "u16": "H", "u32": "I"}


def decoded(sent, clock: tuple[str, str] | None, seq: str | None):
    fields = [{"name": "force", "type": "f32", "unit": "N"}]
    code, parts = "<f", []
    if clock is not None:
        fields.append({"name": "device_time", "type": clock[0], "unit": clock[1]})
        code += TYPES[clock[0]]
        parts.append(sent.clock.astype(np.int64) % (1 << 8 * struct.calcsize(TYPES[clock[0]])))
    if seq is not None:
        fields.append({"name": "seq", "type": seq})
        code += TYPES[seq]
        parts.append(sent.number % (1 << 8 * struct.calcsize(TYPES[seq])))
    description = StreamDescription(
        name="cell", kind="force", framing="notification", fields=fields, rate_hz=250.0
    )
    data = [struct.pack(code, 0.0, *map(int, row)) for row in zip(*parts, strict=True)]
    stamps = np.rint(sent.arrival_s * 1e9).astype(np.int64).tolist()
    return decode(Arrivals.from_lists(stamps, data), description)


@pytest.mark.parametrize("link", ["usb", "ble"])
@pytest.mark.parametrize("buffer", [None, 60])
@pytest.mark.parametrize(
    ("clock", "seq"),
    [
        (("u16", "us"), None),
        (("u8", "ms"), "u16"),
        (("u32", "us"), None),
        (None, "u8"),
        (("u16", "us"), "u8"),
    ],
)
def test_times_are_right_within_their_uncertainty(clock, seq, buffer, link):
    tick_s = 1e-3 if clock is not None and clock[1] == "ms" else 1e-6
    for seed in range(2):
        sent = send_over_stalls(seed, link=link, buffer=buffer, tick_s=tick_s)
        out = decoded(sent, clock, seq)
        frame = out.frame
        if not out.health.uncounted:
            assert out.health.lost == sent.lost
        fit = join_clock(frame["host_s"], frame["device_s"], frame["seq"], rate_hz=250.0)
        off = fit.time_s - sent.true_s
        # The smallest delay of the link is in all times alike, and nothing shows it.
        off = np.abs(off - np.median(off))
        assert np.mean(off > 2.0 * fit.u_s + 1e-4) < 0.05
        assert off.max() < 6.0 * fit.u_s.max() + 1e-4
