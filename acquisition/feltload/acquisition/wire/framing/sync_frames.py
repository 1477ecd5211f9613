"""Frames behind a sync word, of one length or length-prefixed, found again after damage by their checksum."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.frame_layout import (
    can_be_frame,
    checksum_holds,
    field_place,
    fixed_size,
    frame_layout,
)
from feltload.acquisition.wire.framing.overlaps import without_overlaps
from feltload.acquisition.wire.framing.pieces import Pieces, gather_columns
from feltload.acquisition.wire.numbers import wire_numbers
from feltload.core import Bytes, Flags, Indices

__all__ = ["LONGEST_FRAME", "SyncFrames", "sync_frames"]

LONGEST_FRAME = 4096
"""Bytes of a frame at most; a length beyond is damage."""

_BLOCK = 1 << 16
"""Candidates looked at together."""


@dataclass(frozen=True, eq=False)
class SyncFrames:
    """Frames of one stream in a flow that others may share.

    Parameters
    ----------
    pieces : Pieces
        Frames from the sync word to the check value, without what closes them; as loose bytes those in no frame.
    ends : int64 array, shape (n,)
        Where each whole frame ends.
    ignored : int
        Sound frames of others.
    bad_checksum, bad_frames : int
        Stretches between frames that begin like one, and others.
    last : tuple of int
        Start and end of the last sound frame of any stream; (0, 0) if there is none.
    """

    pieces: Pieces
    ends: Indices
    ignored: int
    bad_checksum: int
    bad_frames: int
    last: tuple[int, int]


@dataclass(frozen=True, eq=False)
class _Candidates:
    """What looks like frames: extents by ascending start, and what may begin a frame without being one."""

    starts: Indices
    ends: Indices
    own: Flags
    marks: Indices


def sync_frames(
    arrivals: Arrivals, description: StreamDescription, siblings: Sequence[StreamDescription] = ()
) -> SyncFrames:
    """Find the frames of one stream.

    Parameters
    ----------
    arrivals : Arrivals
    description : StreamDescription
        With framing "sync".
    siblings : sequence of StreamDescription
        Other streams of the same link.

    Notes
    -----
    Every place that holds the sync word is looked at, whatever lies before it: a damaged frame hides no sound
    one. With a checksum a candidate is a frame if it holds, without one if another begins where it ends.
    Of candidates that overlap those are chosen that lie end to end with others.
    """
    data, breaks = arrivals.data, arrivals.breaks()
    found = [_candidates(data, breaks, description, own=True)]
    found += [_candidates(data, breaks, other, own=False) for other in siblings if other.framing == "sync"]
    starts, ends, own, marks = _merged(found)
    begins = np.zeros(data.size + 1, dtype=bool)
    begins[marks] = begins[breaks] = begins[data.size] = True
    followed = begins[ends]
    if any(part.checksum is None for part in (description, *siblings)):
        sound = followed | _whole_frames_on(starts, ends)
        starts, ends, own, followed = starts[sound], ends[sound], own[sound], followed[sound]
    chosen = without_overlaps(starts, ends, 1.0 + 1.5 * followed + 0.25 * own)
    starts, ends, own = starts[chosen], ends[chosen], own[chosen]
    bad_checksum, bad_frames, loose = _between(starts, ends, marks, breaks, data.size)
    lengths = ends[own] - starts[own] - len(description.end_bytes)
    message = arrivals.message_of(ends[own] - 1)
    pieces = Pieces(starts[own], lengths, message, np.zeros(message.size, dtype=bool), loose)
    last = (int(starts[-1]), int(ends[-1])) if starts.size else (0, 0)
    return SyncFrames(pieces, ends[own], int((~own).sum()), bad_checksum, bad_frames, last)


def _merged(found: list[_Candidates]) -> tuple[Indices, Indices, Flags, Indices]:
    """Candidates of all streams by ascending start, one's own first; and all places of sync words."""
    starts = np.concatenate([part.starts for part in found])
    ends = np.concatenate([part.ends for part in found])
    own = np.concatenate([part.own for part in found])
    if np.any(np.diff(starts) <= 0):
        order = np.lexsort((~own, starts))
        starts, ends, own = starts[order], ends[order], own[order]
    marks = found[0].marks if len(found) == 1 else np.unique(np.concatenate([part.marks for part in found]))
    return starts, ends, own, marks


def _candidates(data: Bytes, breaks: Indices, description: StreamDescription, *, own: bool) -> _Candidates:
    word = np.frombuffer(description.sync_word, dtype=np.uint8)
    marks = np.flatnonzero(data[: max(0, data.size - word.size + 1)] == word[0])
    for place in range(1, word.size):
        marks = marks[data[marks + place] == word[place]]
    parts = []
    for size, at in _sized(data, marks, description):
        at = at[at + size <= data.size]
        if breaks.size:
            at = at[np.searchsorted(breaks, at, side="right") == np.searchsorted(breaks, at + size)]
        for low in range(0, at.size, _BLOCK):
            block = at[low : low + _BLOCK]
            good = block[_is_sound(data, block, size, description)]
            parts.append((good, good + size, can_be_frame(description, size - len(description.end_bytes))))
    starts = np.concatenate([np.zeros(0, dtype=np.int64), *(part[0] for part in parts)])
    ends = np.concatenate([np.zeros(0, dtype=np.int64), *(part[1] for part in parts)])
    fits = np.concatenate([np.zeros(0, dtype=bool), *(np.full(part[0].size, part[2]) for part in parts)])
    return _Candidates(starts, ends, fits & own, marks)


def _sized(data: Bytes, marks: Indices, description: StreamDescription) -> Iterable[tuple[int, Indices]]:
    """Places of the sync word by the length that a frame there has."""
    if description.field("length") is None:
        return [(fixed_size(description), marks)]
    item, offset = field_place(description, "length")
    marks = marks[marks + offset + item.size <= data.size]
    sent = wire_numbers(gather_columns(data, marks + offset, item.size), 0, item)
    sizes = sent.astype(np.int64) + description.length_adds
    least = offset + item.size + len(description.end_bytes)
    fit = (sizes >= least) & (sizes <= LONGEST_FRAME)
    if description.checksum is None:
        # Nothing but its fields says that it is a frame.
        fit &= np.isin(sizes, [size for size in np.unique(sizes[fit]) if _fits(description, int(size))])
    return [(int(size), marks[fit & (sizes == size)]) for size in np.unique(sizes[fit])]


def _fits(description: StreamDescription, size: int) -> bool:
    return can_be_frame(description, size - len(description.end_bytes))


def _is_sound(data: Bytes, starts: Indices, size: int, description: StreamDescription) -> Flags:
    closing = np.frombuffer(description.end_bytes, dtype=np.uint8)
    inner = size - closing.size
    good = np.ones(starts.size, dtype=bool)
    for place in range(closing.size):
        good &= data[starts + inner + place] == closing[place]
    columns = gather_columns(data, starts, inner)
    if description.checksum is not None:
        return np.asarray(good & checksum_holds(columns, description.checksum))
    layout = frame_layout(description, inner, None)
    if layout is not None:
        for item, offset in layout.header:
            if item.equals is not None:
                good &= wire_numbers(columns, offset, item) == item.equals
    return good


def _whole_frames_on(starts: Indices, ends: Indices) -> Flags:
    """Candidates after which the next one comes a whole number of its length later: those between were damaged."""
    place = np.searchsorted(starts, ends)
    there = place < starts.size
    distance = np.where(there, starts[np.minimum(place, starts.size - 1)] - ends, 1) if starts.size else ends
    return np.asarray(there & (distance % np.maximum(ends - starts, 1) == 0))


def _between(
    starts: Indices, ends: Indices, marks: Indices, breaks: Indices, size: int
) -> tuple[int, int, int]:
    """Damage between the frames: stretches that begin like a frame, others, and all their bytes.

    What comes before the first frame of an opened link may lack its beginning and is not blamed; what comes
    last may lack its end.
    """
    left = np.concatenate([[0], ends])
    right = np.concatenate([starts, [size]])
    holes = np.flatnonzero(right > left)
    loose = int((right - left)[holes].sum())
    inner = holes[(holes > 0) & (holes < starts.size)]
    reopened = np.searchsorted(breaks, left[inner]) != np.searchsorted(breaks, right[inner], side="right")
    inner = inner[~reopened]
    begun = np.searchsorted(marks, left[inner]) != np.searchsorted(marks, right[inner])
    return int(begun.sum()), int((~begun).sum()), loose
