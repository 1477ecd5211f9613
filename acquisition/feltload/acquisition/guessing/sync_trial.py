"""Frames behind a sync word, found in a flow of bytes: the word, the lengths, the kinds of frame.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.acquisition.guessing.check_trial import FoundCheck, find_check
from feltload.acquisition.wire.framing.pieces import gather_columns
from feltload.core import Bytes, Indices

__all__ = ["FLOW", "FoundFrames", "find_sync_frames"]

LEAST_FRAMES = 12
_SHORTEST, _LONGEST = 4, 1024
_WORDS = 48
"""Words tried, the commonest first."""

_COMMON = 0.06
"""Share of the distances between words that makes one a frame's length."""

_COVERED = 0.8
"""Share of the bytes that frames of the right word cover."""

FLOW = 60_000
"""Bytes looked at."""

_SURE = 3.3
"""Score of a word that needs no other tried: two bytes, all frames checked, nearly all bytes covered."""


@dataclass(frozen=True, eq=False)
class FoundFrames:
    """Frames of one kind.

    Parameters
    ----------
    sync : bytes
        Empty where the framing is not by a sync word.
    starts : int64 array, shape (n,)
        Place of each in the flow.
    frames : uint8 array, shape (length, n)
        From the sync word to the end of the frame.
    check : FoundCheck or None
    length_at : tuple of (offset, size, big_endian, adds) or None
        The field that says how long the frame is.
    """

    sync: bytes
    starts: Indices
    frames: Bytes
    check: FoundCheck | None
    length_at: tuple[int, int, bool, int] | None = None


def find_sync_frames(data: Bytes) -> list[FoundFrames]:
    """Find the kinds of frame in a flow, the commonest first; nothing where there are none.

    Parameters
    ----------
    data : uint8 array, shape (bytes,)
    """
    data = data[:FLOW]
    best: tuple[float, list[FoundFrames]] = (0.0, [])
    for word in _words(data):
        marks = _places(data, word)
        distances = np.diff(marks)
        lengths, counts = np.unique(distances, return_counts=True)
        common = lengths[(counts >= max(LEAST_FRAMES // 2, _COMMON * distances.size))]
        common = common[(common >= _SHORTEST) & (common <= _LONGEST)]
        if not common.size or common.size > 6:
            continue
        covered = float(distances[np.isin(distances, common)].sum()) / data.size
        if covered < _COVERED:
            continue
        kinds = _kinds(data, marks, distances, common)
        checked = float(np.mean([kind.check is not None for kind in kinds])) if kinds else 0.0
        # Constant bytes within the frame lie as far apart as sync words: only the check tells where it begins.
        score = covered + 2.0 * checked + _looks_like_a_beginning(word) - 0.1 * (len(kinds) - 1)
        if kinds and score > best[0]:
            best = (score, kinds)
        if best[0] > _SURE:
            break
    return best[1]


def _words(data: Bytes) -> list[bytes]:
    """Pairs of bytes, then single bytes, the commonest of each first."""
    pairs = data[:-1].astype(np.int64) << 8 | data[1:]
    counts = np.bincount(pairs, minlength=1)
    order = np.argsort(-counts, kind="stable")[:_WORDS]
    out = [int(pair).to_bytes(2, "big") for pair in order if counts[pair] >= LEAST_FRAMES]
    single = np.bincount(data, minlength=256)
    out += [
        bytes([k]) for k in np.argsort(-single, kind="stable")[: _WORDS // 6] if single[k] >= LEAST_FRAMES
    ]
    return out


def _places(data: Bytes, word: bytes) -> Indices:
    found = data[: data.size - len(word) + 1] == word[0]
    for place in range(1, len(word)):
        found &= data[place : data.size - len(word) + 1 + place] == word[place]
    return np.flatnonzero(found)


def _looks_like_a_beginning(word: bytes) -> float:
    """Boards mark the beginning with bytes that data seldom has; zeros and ones fill fields."""
    plain = sum(byte in (0x00, 0xFF, 0x0D, 0x0A) for byte in word)
    same = len(word) > 1 and len(set(word)) == 1 and not plain
    return 0.5 * (len(word) == 2) - 0.6 * plain + 0.05 * same


def _kinds(data: Bytes, marks: Indices, distances: Indices, common: Indices) -> list[FoundFrames]:
    """Frames by their lengths; a sync word inside payload makes frames of no common length."""
    out = []
    for length in common:
        starts = marks[:-1][distances == length]
        frames = gather_columns(data, starts, int(length))
        word = frames[:2, 0].tobytes()
        single = not np.all(frames[1] == frames[1, 0])
        out.append(FoundFrames(word[: 1 if single else 2], starts, frames, find_check(frames)))
    shortest = min(len(kind.sync) for kind in out)
    length_at = _length_field(out, shortest)
    out = [FoundFrames(kind.sync[:shortest], kind.starts, kind.frames, kind.check, length_at) for kind in out]
    return sorted(out, key=lambda kind: -kind.starts.size)


def _length_field(kinds: list[FoundFrames], sync: int) -> tuple[int, int, bool, int] | None:
    """The field that says how long frames are, where there are several lengths."""
    if len(kinds) < 2:
        return None
    shortest = min(kind.frames.shape[0] for kind in kinds)
    for size, big_endian in ((1, False), (2, False), (2, True)):
        for offset in range(sync, min(sync + 4, shortest - size)):
            adds = set()
            for kind in kinds:
                order = slice(None) if big_endian else slice(None, None, -1)
                sent = kind.frames[offset : offset + size][order].T
                values = {int.from_bytes(bytes(row.tolist()), "big") for row in np.unique(sent, axis=0)}
                adds |= {kind.frames.shape[0] - value for value in values}
            if len(adds) == 1:
                return offset, size, big_endian, adds.pop()
    return None
