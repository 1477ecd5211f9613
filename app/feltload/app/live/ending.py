"""How the live pages end: once, in order, at whatever moment they are told to."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from contextlib import suppress

from feltload.acquisition import stopped_by_interrupt


async def until_interrupted(work: Coroutine[None, None, None]) -> None:
    """Do `work` until Ctrl-C, a polite kill or a closed terminal cancel it; one is enough, and more hurry nothing.

    What it closes on its way out is closed undisturbed.
    """
    task = asyncio.create_task(work)
    told = False

    def end() -> None:
        nonlocal told
        if not told:
            told = True
            task.cancel()

    with stopped_by_interrupt(end, hangup=True), suppress(asyncio.CancelledError):
        await task
