"""A command of the program in a real terminal, and a person at its keyboard."""

from __future__ import annotations

import os
import re
import select
import subprocess
import sys
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
    """

    def __init__(self, *words: str, cwd: Path | None = None) -> None:
        self._end, inner = os.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "feltload.app", *words],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            cwd=cwd,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
        )
        os.close(inner)
        self.screen = ""

    def wait_for(self, words: str, patience_s: float = 120.0) -> None:
        """Until `words` were shown since the last answer."""
        until = time.monotonic() + patience_s
        while words not in self._plain():
            assert time.monotonic() < until, (words, self._plain())
            if not select.select([self._end], [], [], 0.2)[0]:
                continue
            try:
                self.screen += os.read(self._end, 65536).decode(errors="replace")
            except OSError:
                assert words in self._plain(), self._plain()

    def type(self, text: str) -> None:
        self.screen = ""
        os.write(self._end, f"{text}\n".encode())

    def press(self, key: bytes) -> None:
        """A key without Enter, such as Ctrl-D."""
        os.write(self._end, key)

    def end(self, patience_s: float = 120.0) -> int:
        code = self.process.wait(patience_s)
        os.close(self._end)
        return code

    def _plain(self) -> str:
        return " ".join(re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", self.screen).split())
