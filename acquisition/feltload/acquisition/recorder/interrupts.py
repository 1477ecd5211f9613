"""Ctrl-C, a polite kill and a closed terminal turned into an orderly end."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Callable, Iterator

__all__ = ["stopped_by_interrupt"]


@contextlib.contextmanager
def stopped_by_interrupt(stop: Callable[[], None], *, hangup: bool = False) -> Iterator[None]:
    """Let Ctrl-C and a polite kill call `stop` on the running loop, where the system allows.

    Parameters
    ----------
    stop : callable
        Called for each of them.
    hangup : bool
        Whether closing the terminal does so as well, unless it was asked to be ignored (``nohup``).
    """
    loop = asyncio.get_running_loop()
    numbers = [signal.SIGINT, signal.SIGTERM]
    closed = getattr(signal, "SIGHUP", None)
    if hangup and closed is not None and signal.getsignal(closed) is signal.SIG_DFL:
        numbers.append(closed)
    caught: list[signal.Signals] = []
    for number in numbers:
        with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
            loop.add_signal_handler(number, stop)
            caught.append(number)
    try:
        yield
    finally:
        for number in caught:
            loop.remove_signal_handler(number)
