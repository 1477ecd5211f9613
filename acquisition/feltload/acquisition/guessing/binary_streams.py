"""Stream descriptions of binary frames, from the frames of each kind.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.fields.columns import split_columns
from feltload.acquisition.guessing.fields.meaning import Meaning, read_meaning
from feltload.acquisition.guessing.fields.raw_column import RawColumn
from feltload.acquisition.guessing.frame_trial import FoundFraming
from feltload.acquisition.guessing.sync_trial import FoundFrames
from feltload.core import Bytes, Fact, Floats, Indices, Severity

__all__ = ["describe_frames"]

Keys = dict[str, Any]
MOST_FRAMES = 2000


def describe_frames(found: FoundFraming, host_s: Floats) -> list[tuple[Keys, list[Fact]]]:
    """Describe the streams of a flow of frames.

    Parameters
    ----------
    found : FoundFraming
    host_s : float array, shape (messages,)
        Arrival of each message.

    Returns
    -------
    list of (dict, list of Fact)
        Keys of a description without name and link, and what was found; the commonest frames first.
    """
    out = []
    for kind, message in zip(found.kinds, found.message, strict=True):
        mark = _mark(found.kinds, kind)
        for meaning in _meanings(kind, message, host_s, mark):
            rate_hz = (meaning.frames_hz or _rate(host_s[message])) * meaning.samples
            keys: Keys = {"kind": meaning.kind, "framing": found.framing, "rate_hz": rate_hz}
            keys |= _framing_keys(found.framing, kind, several=bool(meaning.records))
            keys |= {"fields": meaning.fields, **({"records": meaning.records} if meaning.records else {})}
            out.append((keys, [*_check_facts(kind), *meaning.facts]))
    return out


def _framing_keys(framing: str, kind: FoundFrames, *, several: bool) -> Keys:
    keys: Keys = {}
    if framing == "sync":
        keys["sync"] = kind.sync.hex(" ").upper()
        if kind.check is not None and kind.check.behind:
            keys["end"] = kind.frames[-kind.check.behind :, 0].tobytes().hex(" ").upper()
        if kind.length_at is not None:
            keys["length_adds"] = kind.length_at[3]
        elif several:
            keys["frame_bytes"] = kind.frames.shape[0]
    if kind.check is not None:
        keys["checksum"] = kind.check.checksum.model_dump(exclude_defaults=True)
    return keys


def _check_facts(kind: FoundFrames) -> list[Fact]:
    if kind.check is None:
        return [Fact(GuessFact.CHECK_UNKNOWN, Severity.CAUTION)]
    checksum = kind.check.checksum
    name = checksum.name or f"CRC of {checksum.width} bits, polynomial {checksum.poly:#x}"
    return [Fact(GuessFact.CHECK_PASSED, Severity.NOTE, figures={"name": name, "passed": kind.check.passed})]


def _mark(kinds: Any, own: FoundFrames) -> tuple[int, int] | None:
    """Place and value of a byte that tells this kind of frame from the others; None where it is alone."""
    if len(kinds) < 2:
        return None
    shortest = min(kind.frames.shape[0] for kind in kinds)
    for place in range(len(own.sync), min(shortest, len(own.sync) + 6)):
        values = []
        for kind in kinds:
            column = kind.frames[place]
            counts = np.bincount(column, minlength=256)
            if counts.max() < 0.9 * column.size:
                break
            values.append(int(counts.argmax()))
        if len(set(values)) == len(kinds):
            return place, int(np.bincount(own.frames[place], minlength=256).argmax())
    return None


def _meanings(
    kind: FoundFrames, message: Indices, host_s: Floats, mark: tuple[int, int] | None
) -> list[Meaning]:
    frames = kind.frames
    stop = frames.shape[0]
    if kind.check is not None:
        good = kind.check.checksum.check.size + kind.check.behind
        stop -= good
    frames, message = frames[:, :MOST_FRAMES], message[:MOST_FRAMES]
    start = len(kind.sync)
    columns: list[RawColumn] = []
    fixed: list[tuple[int, Keys]] = []
    if kind.length_at is not None:
        offset, size, big_endian, _ = kind.length_at
        fixed.append((offset, {"name": "length", "type": f"u{8 * size}", **_order(big_endian, size)}))
    if mark is not None and (kind.length_at is None or mark[0] not in range(offset, offset + size)):
        fixed.append((mark[0], {"name": "frame_kind", "type": "u8", "equals": mark[1]}))
    names: dict[int, Keys] = {}
    for place, keys in sorted(fixed, key=lambda item: item[0]):
        columns += _split(frames, start, place)
        names[len(columns)] = keys
        start = place + int(keys["type"][1:]) // 8
        columns.append(RawColumn({}, np.zeros(frames.shape[1]), None, False, True))
    columns += _split(frames, start, stop)
    meanings = read_meaning(columns, host_s[message], text=False)
    for meaning in meanings:
        for place, keys in names.items():
            meaning.fields[place] = keys
    return meanings


def _split(frames: Bytes, start: int, stop: int) -> list[RawColumn]:
    if stop <= start:
        return []
    out = []
    for column in split_columns(frames, start, stop):
        out.append(
            RawColumn(
                {"type": column.type, **_order(column.big_endian, column.size)},
                column.values,
                1 << 8 * column.size if column.type[0] != "f" else None,
                column.size >= 2,
                column.type[0] != "f",
                column.counts,
            )
        )
    return out


def _order(big_endian: bool, size: int) -> Keys:
    return {"big_endian": True} if big_endian and size > 1 else {}


def _rate(host_s: Floats) -> float:
    span = float(host_s[-1] - host_s[0])
    return float((host_s.size - 1) / span) if span > 0 else 1.0
