"""Waits for the sensors of a rig before anything is recorded."""

from __future__ import annotations

import asyncio

from feltload.acquisition.errors import LinkError
from feltload.acquisition.recorder.channel_reader import ChannelReader

__all__ = ["wait_until_connected"]


async def wait_until_connected(
    tasks: dict[asyncio.Task[None], ChannelReader], changed: asyncio.Event
) -> None:
    """Wait until every sensor is recognised.

    Parameters
    ----------
    tasks : dict of Task to ChannelReader
        The readers at work.
    changed : Event
        Set by whoever hears of a sensor that was recognised.

    Raises
    ------
    LinkError
        If some fail; it names them all.
    """
    while not all(reader.connected or task.done() for task, reader in tasks.items()):
        changed.clear()
        waiter = asyncio.create_task(changed.wait())
        try:
            running = {task for task in tasks if not task.done()}
            await asyncio.wait({waiter, *running}, return_when=asyncio.FIRST_COMPLETED)
        finally:
            waiter.cancel()
    errors = [task.exception() for task in tasks if task.done()]
    failures = [error for error in errors if isinstance(error, LinkError)]
    for error in errors:
        if error is not None and not isinstance(error, LinkError):
            raise error
    if len(failures) == 1:
        raise failures[0]
    if failures:
        named = "; ".join(f"{error.where}: {error.what}" for error in failures)
        raise LinkError(named, reason=failures[0].reason, remedy=failures[0].remedy)
