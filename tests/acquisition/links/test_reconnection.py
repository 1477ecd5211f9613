"""Loss and return of a link over a real pty; the waits between attempts."""

from __future__ import annotations

import asyncio
import contextlib

import pytest

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.link import Arrival, LinkDown, LinkUp
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.links.serial import SerialLink


def test_waits_grow_to_a_limit() -> None:
    back_off = BackOff(first_s=0.1, factor=2.0, longest_s=1.0)
    assert [back_off.wait_s(attempt) for attempt in range(6)] == [0.1, 0.2, 0.4, 0.8, 1.0, 1.0]
    assert back_off.wait_s(10**9) == 1.0


def quick(board, **settings: float) -> Reconnection:
    return Reconnection(
        lambda: SerialLink(str(board.port)),
        back_off=BackOff(first_s=0.02, longest_s=0.05),
        **{"silence_s": 0.3, "first_silence_s": 0.3, **settings},
    )


def test_unplug_and_replug(board) -> None:
    async def run() -> list[object]:
        seen: list[object] = []
        board.send(b"before")
        reconnection = quick(board)

        async def replug() -> None:
            await asyncio.sleep(0.1)
            board.unplug()
            await asyncio.sleep(0.2)
            board.plug()
            # Opening a port clears what waits in it, as on a real one; so keep talking.
            for _ in range(20):
                board.send(b"after")
                await asyncio.sleep(0.03)

        async def talk_first() -> None:
            await asyncio.sleep(0.02)
            board.send(b"before")

        async with asyncio.TaskGroup() as group, contextlib.aclosing(reconnection.run()) as events:
            group.create_task(talk_first())
            group.create_task(replug())
            async for event in events:
                seen.append(event)
                if isinstance(event, Arrival) and b"after" in event.data:
                    break
        assert reconnection.backlog == 0
        return seen

    seen = asyncio.run(run())
    kinds = [type(event) for event in seen]
    assert kinds[0] is Arrival
    assert kinds[-3:] == [LinkDown, LinkUp, Arrival]
    down, up, after = seen[-3:]
    assert down.error.reason is LinkReason.LOST
    assert up.attempts > 1
    assert up.host_ns - down.host_ns > 0.1e9
    assert after.host_ns == up.host_ns


def test_silence_reopens_the_link(board) -> None:
    async def run() -> None:
        async with contextlib.aclosing(quick(board, silence_s=0.1).run()) as events:
            asyncio.get_running_loop().call_later(0.05, board.send, b"once")
            assert isinstance(await anext(events), Arrival)
            down = await anext(events)
            assert isinstance(down, LinkDown)
            assert down.error.reason is LinkReason.SILENT
            asyncio.get_running_loop().call_later(0.1, board.send, b"again")
            assert isinstance(await anext(events), LinkUp)
            assert (await anext(events)).data == b"again"

    asyncio.run(run())


def test_the_first_failure_is_not_retried(board) -> None:
    board.unplug()

    async def run() -> None:
        async with contextlib.aclosing(quick(board).run()) as events:
            await anext(events)

    with pytest.raises(LinkError) as caught:
        asyncio.run(run())
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_no_task_is_left(board) -> None:
    async def run() -> None:
        for _ in range(10):
            async with contextlib.aclosing(quick(board).run()) as events:
                asyncio.get_running_loop().call_later(0.01, board.send, b"x")
                await anext(events)
        assert asyncio.all_tasks() == {asyncio.current_task()}

    asyncio.run(run())
