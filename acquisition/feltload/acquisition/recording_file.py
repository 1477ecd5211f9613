"""The container of a recording: MCAP written so that a crash loses at most a second, read though cut."""

from __future__ import annotations

import json
import os
import struct
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

import zstandard
from mcap.exceptions import InvalidMagic, McapError
from mcap.opcode import Opcode
from mcap.records import Attachment, Channel, Chunk, DataEnd, Footer, Metadata
from mcap.stream_reader import CRCValidationError, StreamReader, get_chunk_data_stream
from mcap.writer import IndexType, Writer

from feltload.acquisition.errors import RecordingError

__all__ = [
    "ContainerContents",
    "ContainerWriter",
    "Messages",
    "exists_already",
    "json_message",
    "read_container",
]

FLUSH_S = 0.5
"""Longest time that messages wait in memory before they are on the disk."""

LIBRARY = "feltload"
_CHANNELS = "channels"
_MESSAGE = struct.Struct("<HIQQ")
_RECORD = struct.Struct("<BQ")
_DAMAGE = (McapError, struct.error, ValueError, EOFError, zstandard.ZstdError, MemoryError, OverflowError)


class _Output:
    """A file that keeps whole records only: what a full disk cut is taken off again."""

    def __init__(self, path: Path, *, overwrite: bool) -> None:
        self._file = path.open("wb" if overwrite else "xb", buffering=0)
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
        Replace an existing file.
    """

    def __init__(self, path: Path, *, overwrite: bool = False) -> None:
        try:
            self._output = _Output(path, overwrite=overwrite)
        except FileExistsError:
            raise exists_already(path) from None
        # Without a message index: readers do without, and it costs more time than the messages.
        self._writer = Writer(self._output, index_types=IndexType.ALL & ~IndexType.MESSAGE)  # type: ignore[arg-type]
        self._writer.start(profile="feltload", library=LIBRARY)
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
        self.describe(_CHANNELS, {topic: str(number) for topic, number in self._channels.items()})

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

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


@dataclass
class Messages:
    """Messages of one topic in the order they were written.

    Parameters
    ----------
    host_ns : list of int
    data : list of bytes
    """

    host_ns: list[int] = field(default_factory=list)
    data: list[bytes] = field(default_factory=list)


@dataclass
class ContainerContents:
    """Everything that could be read from a container.

    Parameters
    ----------
    metadata, attachments : dict
        By name.
    messages : dict of Messages
        By topic.
    damage : list of str
        What could not be read, in plain words.
    """

    metadata: dict[str, dict[str, str]] = field(default_factory=dict)
    attachments: dict[str, bytes] = field(default_factory=dict)
    messages: dict[str, Messages] = field(default_factory=dict)
    damage: list[str] = field(default_factory=list)


def read_container(path: Path) -> ContainerContents:
    """Read a container, also one that was cut or damaged.

    Raises
    ------
    RecordingError
        If it cannot be opened or is no MCAP file.
    """
    contents = ContainerContents()
    topics: dict[int, str] = {}
    closed, sound = False, 0
    try:
        with path.open("rb") as stream:
            size = path.stat().st_size
            reader = StreamReader(stream, emit_chunks=True, record_size_limit=size)
            try:
                for record in reader.records:
                    closed = closed or isinstance(record, DataEnd | Footer)
                    if not closed:
                        _take(record, contents, topics)
                        sound = stream.tell()
            except InvalidMagic:
                if not closed:
                    raise
                contents.damage.append("the end of the file is damaged; all samples are there")
            except _DAMAGE:
                if closed:
                    contents.damage.append("the index at the end is damaged; all samples are there")
                else:
                    contents.damage.append(
                        f"it was cut or not closed: {size - sound} bytes at its end could not be read, "
                        "and up to a second before its end may never have been written"
                    )
    except FileNotFoundError:
        raise RecordingError("no such recording", where=str(path), remedy="check the path") from None
    except OSError as error:
        raise RecordingError(f"cannot be read ({error.strerror or error})", where=str(path)) from None
    except (InvalidMagic, struct.error):
        raise RecordingError(
            "not a recording", where=str(path), remedy="give a .mcap file that feltload wrote"
        ) from None
    return contents


def _take(record: object, contents: ContainerContents, topics: dict[int, str]) -> None:
    if isinstance(record, Metadata) and record.name == _CHANNELS:
        topics.update({int(number): topic for topic, number in record.metadata.items()})
    elif isinstance(record, Metadata):
        contents.metadata[record.name] = record.metadata
    elif isinstance(record, Attachment):
        contents.attachments[record.name] = record.data
    elif isinstance(record, Channel):
        topics[record.id] = record.topic
    elif isinstance(record, Chunk):
        try:
            stream, length = get_chunk_data_stream(record, validate_crc=True)
            _take_block(stream.read(length), contents, topics)
        except (CRCValidationError, zstandard.ZstdError, ValueError):
            seconds = (record.message_end_time - record.message_start_time) * 1e-9
            contents.damage.append(f"a block of {seconds:.2f} s is damaged and was left out")


def _take_block(body: bytes, contents: ContainerContents, topics: dict[int, str]) -> None:
    """Messages of a block; far quicker than one record object each, of which an hour holds a million."""
    position, end = 0, len(body)
    unpack_record, unpack_message = _RECORD.unpack_from, _MESSAGE.unpack_from
    message, channel = int(Opcode.MESSAGE), int(Opcode.CHANNEL)
    sinks: dict[int, Messages] = {}
    while position < end:
        opcode, length = unpack_record(body, position)
        start = position + 9
        position = start + length
        if opcode == message:
            number, _, host_ns, _ = unpack_message(body, start)
            if number not in sinks:
                topic = topics.get(number, f"unknown/{number}")
                sinks[number] = contents.messages.setdefault(topic, Messages())
            sink = sinks[number]
            sink.host_ns.append(host_ns)
            sink.data.append(body[start + 22 : position])
        elif opcode == channel:
            number, _, size = struct.unpack_from("<HHI", body, start)
            topics[number] = body[start + 8 : start + 8 + size].decode()


def json_message(values: dict[str, object]) -> bytes:
    """A message of plain values."""
    return json.dumps(values, separators=(",", ":"), allow_nan=False).encode()
