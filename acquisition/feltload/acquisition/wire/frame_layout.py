"""Where the fields of a binary frame lie."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.descriptions.checksum import Checksum
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import Bytes, Flags

__all__ = ["FrameLayout", "can_be_frame", "checksum_holds", "field_place", "fixed_size", "frame_layout"]


@dataclass(frozen=True)
class FrameLayout:
    """Where the fields of a frame of one length and one set of flags lie."""

    header: tuple[tuple[FieldDescription, int], ...]
    record: tuple[tuple[FieldDescription, int], ...]
    record_start: int
    record_size: int
    records: int


def can_be_frame(description: StreamDescription, size: int) -> bool:
    """Whether a payload of this size could be a frame of the stream."""
    if description.framing == "lines":
        return False
    if any(item.present_if for item in description.fields):
        _, least = _placed(
            (i for i in description.fields if i.present_if is None), len(description.sync_word)
        )
        return size >= least + _checksum_size(description)
    return frame_layout(description, size, None) is not None


def _checksum_size(description: StreamDescription) -> int:
    return description.checksum.check.size if description.checksum else 0


def fixed_size(description: StreamDescription) -> int:
    """Bytes of every whole frame behind a sync word, where no length is sent."""
    if description.frame_bytes is not None:
        return description.frame_bytes
    _, offset = _placed(description.fields, len(description.sync_word))
    return offset + _checksum_size(description) + len(description.end_bytes)


def field_place(description: StreamDescription, name: str) -> tuple[FieldDescription, int]:
    """A field before every optional one, and its place in the frame.

    Raises
    ------
    KeyError
        If there is none of the name.
    """
    placed, _ = _placed(description.fields, len(description.sync_word))
    for item, offset in placed:
        if item.name == name:
            return item, offset
    raise KeyError(name)


def _placed(
    fields: Iterable[FieldDescription], offset: int
) -> tuple[list[tuple[FieldDescription, int]], int]:
    """Fields with their places from `offset` on, and where the last one ends."""
    out: list[tuple[FieldDescription, int]] = []
    end = offset
    for item in fields:
        start = out[-1][1] if item.shared else end
        out.append((item, start))
        end = max(end, start + item.size)
    return out, end


def frame_layout(description: StreamDescription, size: int, flags: int | None) -> FrameLayout | None:
    """The layout of a payload, None when none of this size fits.

    Parameters
    ----------
    description : StreamDescription
    size : int
        Bytes of the payload, its checksum and sync word included, but not what closes it.
    flags : int, optional
        Value of the flags field that says which optional fields are there.
    """
    there = [
        item
        for item in description.fields
        if (presence := item.present_if) is None
        or (flags is not None and flags & presence.mask == presence.equals)
    ]
    header, start = _placed(there, len(description.sync_word))
    record, width = _placed(description.records, 0)
    rest = size - start - _checksum_size(description)
    if (rest != 0 and not width) or rest < 0 or (width and rest % width):
        return None
    return FrameLayout(tuple(header), tuple(record), start, width, rest // width if width else 1)


def checksum_holds(payload: Bytes, checksum: Checksum | None) -> Flags:
    """Whether the checksum of each frame holds.

    Parameters
    ----------
    payload : uint8 array, shape (length, n)
        Frames of one length, each a column: from the first byte (of the sync word) to the check value.
    checksum : Checksum, optional
        Without one every frame is sound.
    """
    if checksum is None:
        return np.ones(payload.shape[1], dtype=bool)
    size = checksum.check.size
    if payload.shape[0] <= size + checksum.skip:
        return np.zeros(payload.shape[1], dtype=bool)
    sent = payload[-size:] if not checksum.big_endian else payload[: -size - 1 : -1]
    made = checksum.check.of_columns(payload[checksum.skip : -size])
    out = sent[0] == made[0]
    for position in range(1, size):
        out &= sent[position] == made[position]
    return np.asarray(out)
