"""The container of a recording: MCAP written so that a crash loses at most a second."""

from __future__ import annotations

import itertools
import json
import os
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

from mcap.writer import IndexType, Writer

from feltload.acquisition.errors import RecordingError

__all__ = ["CHANNELS", "ContainerWriter", "exists_already", "json_message"]

FLUSH_S = 0.5
"""Longest time that messages wait in memory before they are on the disk."""

LIBRARY = "feltload"
CHANNELS = "channels"
"""Name of the metadata that number the channels."""


class _Output:
    """A file that keeps whole records only: what a full disk cut is taken off again."""

    def __init__(self, path: Path, *, private: bool) -> None:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600 if private else 0o666)
        self._file = os.fdopen(handle, "wb", buffering=0)
        self._sound = 0
        self.failed = False

    def write(self, data: bytes) -> int:
        view = memoryview(data)
        try:
            while view:
                view = view[self._file.write(view) :]
        except OSError:
            self.failed = True
            self._file.truncate(self._sound)
            self._file.seek(self._sound)
            raise
        self._sound += len(data)
        return len(data)

    def tell(self) -> int:
        return self._sound

    def flush(self) -> None:
        """Nothing is buffered."""

    def sync(self) -> None:
        os.fsync(self._file.fileno())

    def close(self) -> None:
        self._file.close()


def exists_already(path: Path) -> RecordingError:
    """The error of a file that must not be replaced unasked."""
    return RecordingError(
        "exists already", where=str(path), remedy="choose another name, or ask to overwrite it"
    )


class ContainerWriter:
    """Writes channels of messages, flushed to the disk at least every half second while it is used.

    Parameters
    ----------
    path : Path
    overwrite : bool
        Replace an existing file, once the new one is whole: until then it grows beside the old one.
    private : bool
        Only the owner may read the file.

    Attributes
    ----------
    path : Path
        Where the data is now: beside the file to be replaced until that is done.
    """

    def __init__(self, path: Path, *, overwrite: bool = False, private: bool = False) -> None:
        self.path = self._target = path
        real = Path(os.path.realpath(path))
        if real.exists():
            if not overwrite:
                raise exists_already(path)
            self.path = real = _unfinished(real)
        try:
            self._output = _Output(real, private=private)
        except FileExistsError:
            raise exists_already(path) from None
        # Without a message index: readers do without, and it costs more time than the messages.
        self._writer = Writer(self._output, index_types=IndexType.ALL & ~IndexType.MESSAGE)  # type: ignore[arg-type]
        try:
            self._writer.start(profile="feltload", library=LIBRARY)
        except OSError:
            self.discard()
            raise
        self._channels: dict[str, int] = {}
        self._counts: dict[int, int] = {}
        self._flushed = time.monotonic()
        self._last_ns = 0

    def attach(self, name: str, media_type: str, data: bytes) -> None:
        """Add a file."""
        self._writer.add_attachment(0, 0, name, media_type, data)

    def describe(self, name: str, values: dict[str, str]) -> None:
        """Add named text values."""
        self._writer.add_metadata(name, values)

    def open_channels(self, encodings: Mapping[str, str]) -> None:
        """Add channels by topic, with the encoding of their messages.

        The container defines channels within its first block only; the list of their numbers is kept
        apart, so that losing that block does not lose the others.
        """
        for topic, encoding in encodings.items():
            self._channels[topic] = self._writer.register_channel(topic, encoding, 0)
        self.describe(CHANNELS, {topic: str(number) for topic, number in self._channels.items()})

    def write(self, topic: str, host_ns: int, data: bytes) -> None:
        """Add a message; writes to the disk when it is time.

        Raises
        ------
        OSError
            The disk takes no more; the file holds everything up to the last flush.
        """
        channel = self._channels[topic]
        count = self._counts.get(channel, 0)
        self._counts[channel] = count + 1
        self._last_ns = max(self._last_ns, host_ns)
        self._writer.add_message(channel, host_ns, data, host_ns, count & 0xFFFFFFFF)
        self.flush_if_due()

    @property
    def last_ns(self) -> int:
        """Latest time written."""
        return self._last_ns

    def flush_if_due(self) -> None:
        """Bring what waits to the disk if it has waited long enough; call when nothing arrives too."""
        if time.monotonic() - self._flushed >= FLUSH_S:
            self.flush()

    def flush(self) -> None:
        """Bring everything to the disk now."""
        self._writer.flush()  # type: ignore[no-untyped-call]
        self._output.sync()
        self._flushed = time.monotonic()

    def close(self) -> None:
        """Write the index and close; after a full disk, close with what is there."""
        try:
            if not self._output.failed:
                self._writer.finish()  # type: ignore[no-untyped-call]
                self._output.sync()
        finally:
            self._output.close()
        if self.path != self._target and not self._output.failed:
            self.path.replace(os.path.realpath(self._target))
            self.path = self._target

    def discard(self) -> None:
        """Close and leave nothing behind, where not even the beginning could be written."""
        self._output.close()
        self.path.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _unfinished(target: Path) -> Path:
    """A free name beside `target` that a person finds and any reader opens, should the recording be cut off."""
    names = itertools.chain([""], (f"-{number}" for number in itertools.count(2)))
    return next(
        path
        for name in names
        if not (path := target.with_name(f"{target.stem}.unfinished{name}{target.suffix}")).exists()
    )


def json_message(values: dict[str, object]) -> bytes:
    """A message of plain values."""
    return json.dumps(values, separators=(",", ":"), allow_nan=False).encode()
