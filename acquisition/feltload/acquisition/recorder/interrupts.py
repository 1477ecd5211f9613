"""Ctrl-C and a polite kill turned into an orderly end."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Callable, Iterator

__all__ = ["stopped_by_interrupt"]


@contextlib.contextmanager
def stopped_by_interrupt(stop: Callable[[], None]) -> Iterator[None]:
    """Let Ctrl-C and a polite kill call `stop` on the running loop, where the system allows."""
    loop = asyncio.get_running_loop()
    caught: list[signal.Signals] = []
    for number in (signal.SIGINT, signal.SIGTERM):
        with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
            loop.add_signal_handler(number, stop)
            caught.append(number)
    try:
        yield
    finally:
        for number in caught:
            loop.remove_signal_handler(number)
