"""The framing of a flow of bytes, by trial: COBS, SLIP, sync words, messages.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from feltload.acquisition.guessing.check_trial import find_check
from feltload.acquisition.guessing.sync_trial import FLOW, FoundFrames, find_sync_frames
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.framing.cobs_frames import cobs_columns
from feltload.acquisition.wire.framing.pieces import gather_columns, split_at, whole_messages
from feltload.acquisition.wire.framing.slip_frames import END, slip_frames
from feltload.core import Bytes, Flags, Indices

__all__ = ["BinaryFraming", "FoundFraming", "find_framing"]

BinaryFraming = Literal["cobs", "slip", "sync", "notification"]
LEAST_FRAMES = 5


@dataclass(frozen=True, eq=False)
class FoundFraming:
    """How a flow is framed.

    Parameters
    ----------
    framing : str
    kinds : sequence of FoundFrames
        Frames of each length, the commonest first.
    message : list of int64 arrays
        Index of the message that brought each frame, per kind.
    """

    framing: BinaryFraming
    kinds: Sequence[FoundFrames]
    message: Sequence[Indices]


def find_framing(arrivals: Arrivals, *, notifications: bool) -> FoundFraming | None:
    """Find the framing, None where nothing fits.

    Parameters
    ----------
    arrivals : Arrivals
    notifications : bool
        Messages may be frames by themselves.
    """
    if notifications:
        pieces = whole_messages(arrivals)
        sound = np.ones(pieces.starts.size, dtype=bool)
        return _by_length("notification", arrivals.data, pieces.starts, pieces.lengths, pieces.message, sound)
    tried = [found for found in (_cobs(arrivals), _slip(arrivals)) if found is not None]
    best = max(tried, key=lambda found: _covered(found, arrivals), default=None)
    # A sync word may be SLIP's delimiter; COBS fits nothing else.
    if best is not None and best.framing == "cobs" and _is_checked(best) and _covered(best, arrivals) > 0.95:
        return best
    kinds = find_sync_frames(arrivals.data)
    if kinds:
        ends = [kind.starts + kind.frames.shape[0] - 1 for kind in kinds]
        behind = FoundFraming("sync", kinds, [arrivals.message_of(end) for end in ends])
        if best is None or (_is_checked(behind), _covered(behind, arrivals)) > (
            _is_checked(best),
            _covered(best, arrivals),
        ):
            return behind
    return best


def _is_checked(found: FoundFraming) -> bool:
    return any(kind.check is not None for kind in found.kinds)


def _covered(found: FoundFraming, arrivals: Arrivals) -> float:
    """Share of what was looked at that is in the frames found."""
    if found.framing == "slip":
        # Escapes make frames longer on the wire than they are: what lies between delimiters is counted instead.
        pieces = int(split_at(arrivals, END).starts.size)
        return sum(kind.starts.size for kind in found.kinds) / pieces
    looked_at = min(arrivals.data.size, FLOW) if found.framing == "sync" else arrivals.data.size
    return (
        sum(kind.frames.size + kind.starts.size * (found.framing == "cobs") for kind in found.kinds)
        / looked_at
    )


def _cobs(arrivals: Arrivals) -> FoundFraming | None:
    pieces = split_at(arrivals, 0)
    lengths, counts = np.unique(pieces.lengths, return_counts=True)
    if not _is_regular(lengths, counts):
        return None
    parts, sound_share = [], 0.0
    for length in lengths[counts >= max(LEAST_FRAMES, 0.05 * counts.sum())]:
        rows = np.flatnonzero(pieces.lengths == length)
        payload, sound = cobs_columns(gather_columns(arrivals.data, pieces.starts[rows], int(length)))
        sound_share += sound.sum() / pieces.starts.size
        if sound.sum() >= LEAST_FRAMES and payload.shape[0]:
            kept = payload[:, sound]
            parts.append(
                (
                    FoundFrames(b"", pieces.starts[rows[sound]], kept, find_check(kept)),
                    pieces.message[rows[sound]],
                )
            )
    if sound_share < 0.8 or not parts:
        return None
    parts.sort(key=lambda part: -part[0].starts.size)
    return FoundFraming("cobs", [part[0] for part in parts], [part[1] for part in parts])


def _slip(arrivals: Arrivals) -> FoundFraming | None:
    if (arrivals.data == END).sum() < LEAST_FRAMES:
        return None
    data, pieces, sound = slip_frames(arrivals)
    lengths, counts = np.unique(pieces.lengths, return_counts=True)
    if sound.mean() < 0.8 or not _is_regular(lengths, counts):
        return None
    return _by_length("slip", data, pieces.starts, pieces.lengths, pieces.message, sound)


def _is_regular(lengths: Indices, counts: Indices) -> bool:
    """Chance delimiters in other bytes give pieces of all lengths."""
    total = int(counts.sum())
    if total < LEAST_FRAMES or lengths.max() < 3:
        return False
    largest = np.sort(counts)[::-1][:4].sum()
    return bool(largest >= 0.8 * total and lengths[counts.argmax()] >= 3)


def _by_length(
    framing: BinaryFraming, data: Bytes, starts: Indices, lengths: Indices, message: Indices, sound: Flags
) -> FoundFraming | None:
    kinds, messages = [], []
    for length, count in Counter(lengths[sound].tolist()).most_common(4):
        if count < max(LEAST_FRAMES, 0.04 * starts.size):
            continue
        rows = np.flatnonzero(sound & (lengths == length))
        frames = gather_columns(data, starts[rows], int(length))
        kinds.append(FoundFrames(b"", starts[rows], frames, find_check(frames)))
        messages.append(message[rows])
    return FoundFraming(framing, kinds, messages) if kinds else None
