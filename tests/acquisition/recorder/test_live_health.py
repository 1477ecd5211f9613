"""What the screen counts while it records, window by window, against the whole at once and against the truth."""

from __future__ import annotations

import struct

import pytest

from feltload.acquisition.recorder.live_health import LiveHealth
from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.emulator import send_over_stalls

FORCE = {"name": "force", "type": "f32", "unit": "N"}
CLOCK = {"name": "device_time", "type": "u16", "unit": "us"}
STREAMS = {
    "clock": ([CLOCK, FORCE], lambda tick, n: struct.pack("<Hf", tick % 65_536, 0.0)),
    "number": ([{"name": "seq", "type": "u8"}, FORCE], lambda tick, n: struct.pack("<Bf", n % 256, 0.0)),
    "neither": ([FORCE], lambda tick, n: struct.pack("<f", 0.0)),
}


def live_and_whole(kind: str, sent):
    fields, pack = STREAMS[kind]
    description = StreamDescription(
        name=kind, kind="force", framing="notification", fields=fields, rate_hz=250.0
    )
    messages = [
        (int(at * 1e9), pack(int(tick), int(number)))
        for at, tick, number in zip(sent.arrival_s, sent.clock, sent.number, strict=True)
    ]
    live, fed = LiveHealth(description), 0
    for half_seconds in range(1, int(2 * sent.arrival_s[-1]) + 3):
        now_ns = half_seconds * 500_000_000
        until = fed
        while until < len(messages) and messages[until][0] < now_ns:
            until += 1
        live.feed(messages[fed:until], now_ns)
        fed = until
    return live.total, decode(messages, description).health


@pytest.mark.parametrize("kind", STREAMS)
def test_stalls_without_a_loss_are_none_on_the_screen_either(kind):
    for seed in range(2):
        live, whole = live_and_whole(kind, send_over_stalls(seed))
        for health in (live, whole):
            assert (health.lost, health.gaps, health.uncounted, health.resets) == (0, 0, 0, 0)
        assert live.samples == whole.samples


def test_losses_are_the_same_on_the_screen_and_in_the_file():
    for seed in range(2):
        sent = send_over_stalls(seed, buffer=60)
        live, whole = live_and_whole("number", sent)
        assert live.lost == whole.lost == sent.lost
        assert (live.samples, live.gaps, live.uncounted) == (whole.samples, whole.gaps, 0)


def test_what_a_clock_alone_cannot_tell_is_not_guessed_on_the_screen():
    for seed in range(2):
        sent = send_over_stalls(seed, buffer=60)
        live, _ = live_and_whole("clock", sent)
        assert live.lost == sent.lost or (live.uncounted > 0 and live.lost < sent.lost)
        live, _ = live_and_whole("neither", sent)
        assert live.lost == 0
        assert live.uncounted > 0
