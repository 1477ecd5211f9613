"""Where the fields of a binary frame lie."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.schema import StreamDescription

__all__ = ["FrameLayout", "can_be_frame", "frame_layout"]


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
        least = sum(item.size for item in description.fields if item.present_if is None)
        return size >= least + _checksum_size(description)
    return frame_layout(description, size, None) is not None


def _checksum_size(description: StreamDescription) -> int:
    return description.checksum.crc.size if description.checksum else 0


def frame_layout(description: StreamDescription, size: int, flags: int | None) -> FrameLayout | None:
    """The layout of a payload, None when none of this size fits.

    Parameters
    ----------
    description : StreamDescription
    size : int
        Bytes of the payload, its checksum included.
    flags : int, optional
        Value of the flags field that says which optional fields are there.
    """
    header, offset = [], 0
    for item in description.fields:
        presence = item.present_if
        if presence is not None and (flags is None or flags & presence.mask != presence.equals):
            continue
        header.append((item, offset))
        offset += item.size
    start = offset
    record, width = [], 0
    for item in description.records:
        record.append((item, width))
        width += item.size
    rest = size - start - _checksum_size(description)
    if (rest != 0 and not width) or rest < 0 or (width and rest % width):
        return None
    return FrameLayout(tuple(header), tuple(record), start, width, rest // width if width else 1)
