"""What is taken of a phone's messages, what is refused, and what becomes of it."""

from __future__ import annotations

import asyncio
import json
import math

import numpy as np
import pytest

from feltload.acquisition import MotionConvention, RigDescription, link_opener, load_stream_description
from feltload.app.errors import UsageError
from feltload.app.live.phones.joined import given_phone
from feltload.app.live.phones.message import (
    LONGEST_TEXT,
    MOST_SAMPLES,
    MessageError,
    line_of,
    parse_message,
)
from feltload.app.live.phones.phone import ALLOWED_AT_ONCE, Phone
from feltload.app.live.phones.relay import Relay
from feltload.emulator import Browser, spoken, turned_by_hand

ROW = [0, 100.0, 0.1, 0.2, 9.8, 1.0, 2.0, 3.0, 16.7]


def text(rows: object, **more: object) -> str:
    return json.dumps({"m": rows, **more})


@pytest.mark.parametrize(
    "sent",
    [
        "",
        "[]",
        "nonsense",
        "[" * 20_000,
        '{"m": [[NaN,0,0,0,0,0,0,0,0]]}',
        '{"m": [[1e999,0,0,0,0,0,0,0,0]]}',
        text([ROW], script="<script>"),
        text([ROW[:-1]]),
        text([[*ROW[:-1], "9"]]),
        text([[*ROW[:-1], True]]),
        text([[*ROW[:-1], 10**400]]),
        text([[*ROW[:4], 1e6, *ROW[5:]]]),
        text([[0.5, *ROW[1:]]]),
        text([[-1, *ROW[1:]]]),
        text([ROW, ROW]),
        text("m"),
        text([ROW], lost=-1),
        text([ROW], lost="many"),
        text([ROW], up=[0, 0, 0]),
        text([ROW], up=[1, 1]),
        text([[n, *ROW[1:]] for n in range(MOST_SAMPLES + 1)]),
        text([ROW]) + " " * LONGEST_TEXT,
    ],
)
def test_what_is_no_motion_is_refused_with_one_line(sent: str) -> None:
    with pytest.raises(MessageError) as refused:
        parse_message(sent)
    assert "\n" not in str(refused.value) and len(str(refused.value)) < 60


def test_a_sample_becomes_a_line_of_numbers() -> None:
    message = parse_message(text([ROW], up=[0, 0, 1.2], lost=3))
    assert (message.up, message.lost) == ((0.0, 0.0, 1.0), 3)
    assert line_of(message.samples[0]) == b"0,100.000,0.1,0.2,9.8,1,2,3,16.7\n"


def messages(told_by: Browser, *, seed: int = 1, per_message: int = 20) -> list[str]:
    """A phone in hands as its page sends it."""
    time_s, accel, rate = turned_by_hand(seed)
    told, turning = spoken(accel, rate, told_by)
    up = accel / np.linalg.norm(accel, axis=1)[:, None]
    rows = [[n, 1e3 * t, *a, *w, 16.7] for n, (t, a, w) in enumerate(zip(time_s, told, turning, strict=True))]
    return [
        text(rows[at : at + per_message], up=up[at].tolist(), lost=0)
        for at in range(0, len(rows), per_message)
    ]


def test_a_phone_turned_by_hand_becomes_a_stream_of_its_convention() -> None:
    phone = Phone("Phone 1")
    told_by = Browser(gravity_sign=-1, degrees=False)
    sent = messages(told_by)
    phone.take(parse_message(sent[0]))
    with pytest.raises(UsageError, match="not recognised yet"):
        asyncio.run(given_phone(phone))
    for one in sent[1:]:
        phone.take(parse_message(one))

    async def given() -> None:
        found = await given_phone(phone)
        assert found.stream.rate_hz == 60.0
        assert "opposite to the standard" in found.note and "rad/s" in found.note
        rig = RigDescription(
            streams=(
                load_stream_description("reference-force"),
                load_stream_description("reference-inertial"),
            )
        )
        assert [stream.name for stream in found.in_rig(rig).streams] == ["force", "phone"]
        await phone.relay.close()

    asyncio.run(given())
    assert phone.look().convention == MotionConvention(-1, 1, "xyz", "rad/s")


def test_a_silent_phone_is_not_recorded() -> None:
    now = [0.0]
    phone = Phone("Phone 1", lambda: now[0])
    assert math.isnan(phone.state.rate_hz)
    for one in messages(Browser()):
        phone.take(parse_message(one))
    assert phone.state.sending
    now[0] = 10.0
    assert not phone.state.sending
    with pytest.raises(UsageError, match="sends no motion"):
        asyncio.run(phone.stream())


def test_a_flood_is_cut_off_and_said() -> None:
    phone = Phone("Phone 1", lambda: 0.0)
    for at in range(0, int(ALLOWED_AT_ONCE) + 480, 240):
        phone.take(parse_message(text([[n, 10.0 * n, *ROW[2:]] for n in range(at, at + 240)])))
    assert 240 < phone.state.lost <= 720


def test_samples_sent_twice_are_taken_once_and_a_new_page_counts_from_the_beginning() -> None:
    async def run() -> list[bytes]:
        phone = Phone("Phone 1")
        convention = MotionConvention()
        port = await phone.relay.open()
        stream = convention.description(
            name="phone", host="127.0.0.1", port=port, start=phone.relay.word, rate_hz=60.0
        )
        arrived: list[bytes] = []
        async with link_opener(stream.link, stream="phone")() as link:
            # Its word is on the way.
            while not phone.relay.has_reader:  # noqa: ASYNC110
                await asyncio.sleep(0.01)
            first = parse_message(text([[n, 10.0 * n, *ROW[2:]] for n in range(5)]))
            for _ in range(2):
                phone.take(first)
            phone.started_again()
            phone.take(first)
            async for arrival in link:
                arrived.append(arrival.data)
                if b"".join(arrived).count(b"\n") >= 11:
                    break
        await phone.relay.close()
        return arrived

    lines = b"".join(asyncio.run(asyncio.wait_for(run(), 60))).split()
    assert [int(line.split(b",")[0]) for line in lines] == [0, 1, 2, 3, 4] * 2


def test_who_does_not_know_the_word_gets_nothing() -> None:
    async def run() -> bytes:
        phone = Phone("Phone 1")
        incoming, outgoing = await asyncio.open_connection("127.0.0.1", await phone.relay.open())
        outgoing.write(b"please\n")
        got = await incoming.read()
        assert not phone.relay.has_reader
        outgoing.close()
        await phone.relay.close()
        return got

    assert asyncio.run(asyncio.wait_for(run(), 60)) == b""


def test_a_recorder_that_opens_its_link_again_misses_nothing() -> None:
    async def run() -> bytes:
        relay = Relay()
        port = await relay.open()
        relay.send(b"before\n")
        for number in range(2):
            incoming, outgoing = await asyncio.open_connection("127.0.0.1", port)
            outgoing.write(relay.word.encode())
            got = await incoming.readline()
            assert got == b"\n"
            if number:
                got += await incoming.readline()
            outgoing.close()
            while relay.has_reader:  # noqa: ASYNC110
                await asyncio.sleep(0.01)
            relay.send(b"meanwhile\n")
        # The next recording begins with what comes then.
        relay.begin()
        _, outgoing = await asyncio.open_connection("127.0.0.1", port)
        outgoing.write(relay.word.encode())
        outgoing.close()
        await relay.close()
        return got

    assert asyncio.run(asyncio.wait_for(run(), 60)) == b"\nmeanwhile\n"
