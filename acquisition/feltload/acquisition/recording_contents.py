"""What the container of a recording holds, read though it was cut or damaged."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import zstandard
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
    MessageIndex,
    Metadata,
    MetadataIndex,
    Schema,
    Statistics,
    SummaryOffset,
)
from mcap.stream_reader import CRCValidationError, StreamReader, get_chunk_data_stream

from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recording_file import CHANNELS

__all__ = ["ContainerContents", "Messages", "read_container"]

_MAGIC_BYTES = 8
_MESSAGE = struct.Struct("<HIQQ")
_RECORD = struct.Struct("<BQ")
_DAMAGE = (McapError, struct.error, ValueError, EOFError, zstandard.ZstdError, MemoryError, OverflowError)
_DATA = (Header, Metadata, Attachment, Chunk, MessageIndex, Schema, Channel, DataEnd)
_SUMMARY = (Schema, Channel, Statistics, ChunkIndex, AttachmentIndex, MetadataIndex, SummaryOffset, Footer)
"""Kinds of records that a recorder writes before and after the end of the data; another one is a damaged one."""
_END_DAMAGED = "the index at the end is damaged; all samples are there"


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
    damaged_attachments : set of str
        Those whose checksum is wrong.
    messages : dict of Messages
        By topic.
    damage : list of str
        What could not be read, in plain words.
    """

    metadata: dict[str, dict[str, str]] = field(default_factory=dict)
    attachments: dict[str, bytes] = field(default_factory=dict)
    damaged_attachments: set[str] = field(default_factory=set)
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
    """Take every record up to the end or to where reading fails."""
    topics: dict[int, str] = {}
    ended, sound = False, 0
    reader = StreamReader(stream, emit_chunks=True, record_size_limit=size)
    try:
        for record in reader.records:
            start, sound = sound or _MAGIC_BYTES, stream.tell()
            if not _follows(stream, start, sound) or not isinstance(record, _SUMMARY if ended else _DATA):
                contents.damage.append(f"something of {sound - start} bytes is damaged and was left out")
            ended = ended or isinstance(record, DataEnd)
            if isinstance(record, Attachment):
                stream.seek(sound - 4)
                _take_attachment(record, stream.read(4), contents)
            else:
                _take(record, contents, topics)
    except InvalidMagic:
        if not sound:
            raise
        contents.damage.append(_END_DAMAGED if ended else _cut(size - sound))
    except _DAMAGE:
        contents.damage.append(_END_DAMAGED if ended else _cut(size - sound))


def _follows(stream: BinaryIO, start: int, sound: int) -> bool:
    """Whether one record reaches from `start` to `sound`: the library reads past kinds that it does not know."""
    stream.seek(start)
    _, length = _RECORD.unpack(stream.read(_RECORD.size))
    stream.seek(sound)
    return bool(start + _RECORD.size + length == sound)


def _cut(left: int) -> str:
    return (
        f"it was cut or not closed: {left} bytes at its end could not be read, "
        "and up to a second before its end may never have been written"
    )


def _take_attachment(record: Attachment, stored_crc: bytes, contents: ContainerContents) -> None:
    """Keep an attachment and hold it against its checksum, which the library reads past."""
    name, media_type = record.name.encode(), record.media_type.encode()
    head = struct.pack("<QQI", record.log_time, record.create_time, len(name)) + name
    head += struct.pack("<I", len(media_type)) + media_type + struct.pack("<Q", len(record.data))
    contents.attachments[record.name] = record.data
    # A checksum of 0 says that there is none.
    if stored_crc not in (bytes(4), zlib.crc32(record.data, zlib.crc32(head)).to_bytes(4, "little")):
        contents.damaged_attachments.add(record.name)


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
