"""A program's standard output as a sensor."""

from __future__ import annotations

import contextlib
import os
import select
import shlex
import subprocess
import threading
from collections import deque

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.source import DEFAULT_GATHER_S, SourceLink, reason_text
from feltload.acquisition.wire.descriptions.link_config import ProgramLinkConfig, command_bytes

__all__ = ["ProgramLink"]

_LARGEST = 65_536
_ENDS_S = 1.0
"""Time a program is given to end by itself."""


class ProgramLink(SourceLink):
    """A program that writes a sensor's bytes to its standard output; run while the link is open.

    Parameters
    ----------
    described : ProgramLinkConfig
    """

    def __init__(self, described: ProgramLinkConfig) -> None:
        self._described = described
        super().__init__(
            shlex.join(described.command),
            lost="the program's output was lost",
            remedy="run it by itself to see what it says",
            start=command_bytes(described.start),
            stop=command_bytes(described.stop),
        )

    def open_source(self) -> _ProgramSource:
        """Run the program."""
        try:
            process = subprocess.Popen(
                self._described.command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                bufsize=0,
            )
        except (OSError, ValueError) as error:
            raise LinkError(
                f"cannot be run ({reason_text(error)})",
                reason=LinkReason.NOT_FOUND,
                where=self.where,
                remedy="check the program's name, or give its whole path",
            ) from error
        return _ProgramSource(process, self.where)


class _ProgramSource:
    """A running program as a source of bytes."""

    whole_messages = False

    def __init__(self, process: subprocess.Popen[bytes], where: str) -> None:
        self._process = process
        self._where = where
        self._said: deque[str] = deque(maxlen=1)
        # Its error output is read all along: a full pipe would stop it.
        self._listener = threading.Thread(target=self._listen, name=f"errors of {where}", daemon=True)
        self._listener.start()

    def _listen(self) -> None:
        assert self._process.stderr is not None
        for line in self._process.stderr:
            if text := " ".join(line.decode(errors="replace").split()):
                self._said.append(text)

    def read(self) -> bytes:
        """Take what it has written, waiting a few milliseconds."""
        assert self._process.stdout is not None
        output = self._process.stdout.fileno()
        if os.name == "posix" and not select.select([output], [], [], DEFAULT_GATHER_S)[0]:
            return b""
        data = os.read(output, _LARGEST)
        if data:
            return data
        code = self._process.wait()
        self._listener.join(_ENDS_S)
        last = f": {self._said[-1]}" if self._said else ""
        raise LinkError(
            f"the program ended with code {code}{last}",
            reason=LinkReason.LOST,
            where=self._where,
            remedy="run it by itself to see what it says",
        )

    def send(self, data: bytes) -> None:
        """Write to its standard input."""
        assert self._process.stdin is not None
        self._process.stdin.write(data)
        self._process.stdin.flush()

    def close(self) -> None:
        """End the program."""
        with contextlib.suppress(OSError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        self._process.terminate()
        try:
            self._process.wait(_ENDS_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._listener.join(_ENDS_S)
        for pipe in (self._process.stdout, self._process.stderr):
            if pipe is not None:
                pipe.close()
