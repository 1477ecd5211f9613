"""A disk that takes no more: the limit on a file's size stands for it, for the system refuses in the same way."""

from __future__ import annotations

import resource
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def files_limited_to(size: int) -> Iterator[None]:
    """No file of this process grows beyond `size` bytes."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    # Python 3.11 keeps bytecode that was cut, and every later process fails at it.
    kept, sys.dont_write_bytecode = sys.dont_write_bytecode, True
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        sys.dont_write_bytecode = kept
        signal.signal(signal.SIGXFSZ, handler)
