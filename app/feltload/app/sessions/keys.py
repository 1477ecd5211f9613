"""Single keys pressed while a recording runs, on a terminal that can give them."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress


def can_read_keys() -> bool:
    """Whether standard input is a terminal whose keys can be read one by one."""
    if not sys.stdin.isatty():
        return False
    try:
        import termios  # noqa: F401
    except ImportError:
        return False
    return True


@contextmanager
def on_keys(actions: Mapping[str, Callable[[], None]]) -> Iterator[None]:
    """Call ``actions[key]()`` for each key pressed while the block runs; on the event loop.

    ``actions[""]``, where there is one, is called once when the terminal goes away.
    """
    if not can_read_keys():
        yield
        return
    import termios
    import tty

    loop = asyncio.get_running_loop()
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)

    def pressed() -> None:
        # Straight from the terminal: a buffer would keep keys that were pressed together.
        try:
            key = os.read(handle, 1).decode(errors="replace").lower()
        except OSError:
            key = ""
        if not key:
            # A closed terminal is readable for ever.
            loop.remove_reader(handle)
        action = actions.get(key)
        if action is not None:
            action()

    tty.setcbreak(handle)
    loop.add_reader(handle, pressed)
    try:
        yield
    finally:
        loop.remove_reader(handle)
        with suppress(termios.error):
            termios.tcsetattr(handle, termios.TCSADRAIN, before)
