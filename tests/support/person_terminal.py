"""A command of the program in a real terminal, and a person at its keyboard."""

from __future__ import annotations

import fcntl
import os
import re
import select
import subprocess
import sys
import termios
import time
from pathlib import Path


class Terminal:
    """A person's terminal with a command of the program in it.

    Parameters
    ----------
    words : str
        The command line.
    cwd : Path, optional
        Where it is called.
    **env : str
        Environment variables of its own.
    """

    def __init__(self, *words: str, cwd: Path | None = None, **env: str) -> None:
        self._end, inner = os.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "feltload.app", *words],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            cwd=cwd,
            # Only in its controlling terminal is Ctrl-C a signal.
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
            env={**os.environ, "TERM": "xterm", "COLUMNS": "100", **env},
        )
        os.close(inner)
        self.screen = ""

    def wait_for(self, words: str, patience_s: float = 120.0) -> None:
        """Until `words` were shown since the last answer."""
        until = time.monotonic() + patience_s
        while words not in self._plain():
            assert time.monotonic() < until, (words, self._plain())
            if not self._read() and self.process.poll() is not None:
                assert words in self._plain(), self._plain()

    def type(self, text: str) -> None:
        self.screen = ""
        os.write(self._end, f"{text}\n".encode())

    def press(self, key: bytes) -> None:
        """A key without Enter, such as Ctrl-D."""
        os.write(self._end, key)

    def hang_up(self) -> None:
        """Close the window."""
        os.close(self._end)

    def end(self, patience_s: float = 120.0) -> int:
        """Wait for the end, reading on; its code."""
        until = time.monotonic() + patience_s
        while self.process.poll() is None and time.monotonic() < until:
            self._read()
        code = self.process.wait(1.0)
        while self._read():
            pass
        os.close(self._end)
        return code

    def _read(self) -> bool:
        if not select.select([self._end], [], [], 0.1)[0]:
            return False
        try:
            self.screen += os.read(self._end, 65536).decode(errors="replace")
        except OSError:
            return False
        return True

    def _plain(self) -> str:
        return " ".join(re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", self.screen).split())
