"""Single keys pressed while something runs, on a terminal that can give them."""

from __future__ import annotations

import asyncio
import codecs
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

ESCAPE = "\x1b"
_SEQUENCE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|O.)")
"""What arrows, function keys and their like send (ECMA-48, control sequences): no key of ours."""
_READ_BYTES = 4096


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
def on_keys(press: Callable[[str], None]) -> Iterator[None]:
    """Call ``press(key)`` for each character typed while the block runs; on the event loop.

    Enter is ``"\\n"``. The key ``""`` comes once when the terminal goes away.
    """
    if not can_read_keys():
        yield
        return
    import termios
    import tty

    loop = asyncio.get_running_loop()
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    # A letter may come in two reads.
    decoder = codecs.getincrementaldecoder("utf-8")(errors="replace")

    def pressed() -> None:
        # Straight from the terminal: a buffer would keep keys that were pressed together.
        try:
            data = os.read(handle, _READ_BYTES)
        except OSError:
            data = b""
        if not data:
            # A closed terminal is readable for ever.
            loop.remove_reader(handle)
            press("")
        for key in keys_of(decoder.decode(data)):
            press(key)

    tty.setcbreak(handle)
    loop.add_reader(handle, pressed)
    try:
        yield
    finally:
        loop.remove_reader(handle)
        with suppress(termios.error):
            termios.tcsetattr(handle, termios.TCSADRAIN, before)


def keys_of(text: str) -> str:
    """The keys of what a terminal sent at once: without arrows and their like, with one Enter."""
    return _SEQUENCE.sub("", text).replace("\r", "\n")
