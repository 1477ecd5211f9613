"""What the container of a recording holds, read though it was cut or damaged."""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import zstandard
from mcap.data_stream import RecordBuilder
from mcap.exceptions import InvalidMagic, McapError
from mcap.opcode import Opcode
from mcap.records import (
    Attachment,
    AttachmentIndex,
    Channel,
    Chunk,
    ChunkIndex,
    DataEnd,
    Footer,
    Header,
    McapRecord,
    MessageIndex,
    Metadata,
    MetadataIndex,
    Schema,
    Statistics,
    SummaryOffset,
)
from mcap.stream_reader import CRCValidationError, StreamReader, get_chunk_data_stream

from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.recording.file import CHANNELS
from feltload.acquisition.recording.messages import Messages
from feltload.core import Fact, Severity

__all__ = ["ContainerContents", "Messages", "read_container"]

_MAGIC_BYTES = 8
_MESSAGE = struct.Struct("<HIQQ")
_RECORD = struct.Struct("<BQ")
_DAMAGE = (McapError, struct.error, ValueError, EOFError, zstandard.ZstdError, MemoryError, OverflowError)
_DATA = (Header, Metadata, Attachment, Chunk, MessageIndex, Schema, Channel, DataEnd)
_SUMMARY = (Schema, Channel, Statistics, ChunkIndex, AttachmentIndex, MetadataIndex, SummaryOffset, Footer)
"""Kinds of records that a recorder writes before and after the end of the data; another one is a damaged one."""
_RECORD_HEAD = re.compile(rb"[\x01\x03\x04\x06\x07\x09\x0c\x0f](?=[\s\S]{4}\x00{4})")
"""Kind of a record of the data, before a length that fits four bytes."""
_SCANNED_BYTES = 1 << 22
_LINKS = 3
"""Records that must follow each other before the first counts as found; chance makes no two in a row."""


@dataclass
class ContainerContents:
    """Everything that could be read from a container.

    Parameters
    ----------
    metadata, attachments : dict
        By name.
    damaged_attachments : set of str
        Those whose checksum is wrong.
    messages : dict of Messages
        By topic.
    damage : list of Fact
        What could not be read.
    """

    metadata: dict[str, dict[str, str]] = field(default_factory=dict)
    attachments: dict[str, bytes] = field(default_factory=dict)
    damaged_attachments: set[str] = field(default_factory=set)
    messages: dict[str, Messages] = field(default_factory=dict)
    damage: list[Fact] = field(default_factory=list)


def read_container(path: Path) -> ContainerContents:
    """Read a container, also one that was cut or damaged.

    Raises
    ------
    RecordingError
        If it cannot be opened or is no MCAP file.
    """
    contents = ContainerContents()
    try:
        with path.open("rb") as stream:
            _read_records(stream, path.stat().st_size, contents)
    except FileNotFoundError:
        raise RecordingError("no such recording", where=str(path), remedy="check the path") from None
    except OSError as error:
        raise RecordingError(f"cannot be read ({error.strerror or error})", where=str(path)) from None
    except (InvalidMagic, struct.error):
        raise RecordingError(
            "not a recording", where=str(path), remedy="give a .mcap file that feltload wrote"
        ) from None
    return contents


def _read_records(stream: BinaryIO, size: int, contents: ContainerContents) -> None:
    """Take every record; where reading goes astray, go on with the next one that can be found."""
    reading = _Reading(stream, size, contents)
    _read_on(reading, stream, size, contents)
    reading.name_topics()


def _read_on(reading: _Reading, stream: BinaryIO, size: int, contents: ContainerContents) -> None:
    while not reading.run():
        if reading.ended:
            contents.damage.append(Fact(DamageFact.INDEX_DAMAGED, Severity.NOTE))
            return
        again = _next_record(stream, max(reading.sound, _MAGIC_BYTES) + 1, size)
        if again is None:
            cut = {"unread_bytes": size - reading.sound}
            contents.damage.append(Fact(DamageFact.RECORDING_CUT, figures=cut))
            return
        contents.damage.append(
            Fact(DamageFact.BLOCK_LENGTH_DAMAGED, Severity.NOTE)
            if reading.held
            else _left_out(again - reading.sound)
        )
        reading.sound = again
        stream.seek(again)


class _Records(StreamReader):
    """The library's reader, which would read a file's empty end as records of kind 0 without content."""

    def _read_record(self, opcode: int, length: int) -> McapRecord | None:
        if opcode == 0:
            raise McapError("no record")
        return super()._read_record(opcode, length)


class _Reading:
    """Records read so far: how far they are sound, whether the data has ended, whether the last one was held on to."""

    def __init__(self, stream: BinaryIO, size: int, contents: ContainerContents) -> None:
        self._stream, self._size, self._contents = stream, size, contents
        self._topics: dict[int, str] = {}
        self.sound = 0
        self.ended = False
        self.held = False

    def _stated_length(self, start: int) -> int:
        self._stream.seek(start)
        return _RECORD.size + int(_RECORD.unpack(self._stream.read(_RECORD.size))[1])

    def name_topics(self) -> None:
        """Put the messages of channels whose names became known late under these names: they came first."""
        for number, topic in self._topics.items():
            first = self._contents.messages.pop(_unknown(number), None)
            if first is not None:
                later = self._contents.messages.get(topic, Messages())
                self._contents.messages[topic] = Messages(
                    first.host_ns + later.host_ns, first.data + later.data
                )

    def run(self) -> bool:
        """Read on from where it is sound; whether the proper end was reached."""
        self.held = False
        reader = _Records(
            self._stream, skip_magic=self.sound > 0, emit_chunks=True, record_size_limit=self._size
        )
        try:
            return all(self._fits(record) for record in reader.records)
        except InvalidMagic:
            if not self.sound:
                raise
        except _DAMAGE:
            pass
        return False

    def _fits(self, record: McapRecord) -> bool:
        """Take a record; whether the next one begins where it ends."""
        start, self.sound = self.sound or _MAGIC_BYTES, self._stream.tell()
        builder = RecordBuilder()
        record.write(builder)
        whole: bytes = builder.end()  # type: ignore[no-untyped-call]
        end = start + len(whole)
        if end != self.sound:
            # The library reads past kinds of records that it does not know: then this one lies after them.
            self._stream.seek(self.sound - len(whole))
            if self._stream.read(_RECORD.size) == whole[: _RECORD.size]:
                self._contents.damage.append(_left_out(self.sound - end))
                end = self.sound
        if not isinstance(record, _SUMMARY if self.ended else _DATA):
            self._contents.damage.append(_left_out(len(whole)))
        self.ended = self.ended or isinstance(record, DataEnd)
        if isinstance(record, Attachment):
            self._stream.seek(end - 4)
            # The library has the checksum right in what it writes, and does not look at it when it reads; 0 is none.
            if self._stream.read(4) not in (bytes(4), whole[-4:]):
                self._contents.damaged_attachments.add(record.name)
            self._contents.attachments[record.name] = record.data
        else:
            _take(record, self._contents, self._topics)
        # A wrong length within a record reads on into the next ones, and shows by the record's own.
        fits = end == self.sound and self._stated_length(start) == self.sound - start
        # A wrong length: it was read all the same, but what follows begins elsewhere.
        self.held = not fits
        self.sound = self.sound if fits else start
        self._stream.seek(self.sound)
        return fits


def _unknown(number: int) -> str:
    return f"unknown/{number}"


def _left_out(count: int) -> Fact:
    return Fact(DamageFact.BYTES_LEFT_OUT, figures={"bytes": count})


def _next_record(stream: BinaryIO, start: int, size: int) -> int | None:
    """Where the next record begins that leads to others: what lies between is damaged; None if there is none."""
    nothing = bytes(_SCANNED_BYTES + _RECORD.size)
    for offset in range(start, size, _SCANNED_BYTES):
        stream.seek(offset)
        block = stream.read(_SCANNED_BYTES + _RECORD.size)
        if block == nothing:
            # A crash may leave gigabytes of zeros behind a file.
            continue
        for candidate in _RECORD_HEAD.finditer(block):
            at = offset + candidate.start()
            if candidate.start() < _SCANNED_BYTES and _leads_on(stream, at):
                return at
    return None


def _leads_on(stream: BinaryIO, at: int) -> bool:
    for _ in range(_LINKS):
        stream.seek(at)
        head = stream.read(_RECORD.size)
        if _RECORD_HEAD.match(head) is None:
            return False
        at += _RECORD.size + int.from_bytes(head[1:5], "little")
    return True


def _take(record: object, contents: ContainerContents, topics: dict[int, str]) -> None:
    if isinstance(record, Metadata) and record.name == CHANNELS:
        # It only helps where the first block is lost; what is damaged in it must not stop the reading.
        topics.update({int(number): topic for topic, number in record.metadata.items() if number.isdecimal()})
    elif isinstance(record, Metadata):
        contents.metadata[record.name] = record.metadata
    elif isinstance(record, Channel):
        topics[record.id] = record.topic
    elif isinstance(record, Chunk):
        try:
            stream, length = get_chunk_data_stream(record, validate_crc=True)
            _take_block(stream.read(length), contents, topics)
        except (CRCValidationError, zstandard.ZstdError, ValueError):
            seconds = (record.message_end_time - record.message_start_time) * 1e-9
            contents.damage.append(Fact(DamageFact.BLOCK_LEFT_OUT, figures={"duration_s": seconds}))


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
                topic = topics.get(number, _unknown(number))
                sinks[number] = contents.messages.setdefault(topic, Messages())
            sink = sinks[number]
            sink.host_ns.append(host_ns)
            sink.data.append(body[start + 22 : position])
        elif opcode == channel:
            number, _, size = struct.unpack_from("<HHI", body, start)
            topics[number] = body[start + 8 : start + 8 + size].decode()
