"""Pieces of a flow of bytes: cut at a delimiter, or a message each; and their bytes side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.core import Bytes, Flags, Indices

__all__ = ["Pieces", "gather_columns", "split_at", "whole_messages"]


@dataclass(frozen=True, eq=False)
class Pieces:
    """Where the frames of a flow of bytes are.

    Parameters
    ----------
    starts, lengths : int64 array, shape (n,)
        Extent of each piece in the bytes, without its delimiter. Empty pieces are left out.
    message : int64 array, shape (n,)
        Index of the message that brought the piece's last byte (its delimiter).
    fresh : bool array, shape (n,)
        The piece is the first after the link was opened, so its beginning may be missing.
    loose_bytes : int
        Bytes at ends of the flow that no delimiter closed.
    """

    starts: Indices
    lengths: Indices
    message: Indices
    fresh: Flags
    loose_bytes: int


def split_at(arrivals: Arrivals, delimiter: int) -> Pieces:
    """Cut at a delimiter byte; a reopened link also cuts, and drops what it left unfinished."""
    data = arrivals.data
    marks = np.flatnonzero(data == delimiter)
    starts = np.concatenate([np.zeros(1, dtype=np.int64), marks[:-1] + 1]) if marks.size else marks
    lengths = marks - starts
    fresh = np.zeros(marks.size, dtype=bool)
    loose = data.size - (int(marks[-1]) + 1 if marks.size else 0)
    if marks.size:
        fresh[0] = True
    # A piece that straddles a reopening keeps only what came after it.
    for edge in arrivals.breaks():
        after = int(np.searchsorted(marks, edge, side="left"))
        if after < marks.size:
            loose += max(0, int(edge - starts[after]))
            starts[after] = max(starts[after], edge)
            lengths[after] = marks[after] - starts[after]
            fresh[after] = True
    message = arrivals.message_of(marks)
    keep = lengths > 0
    if not keep.all():
        starts, lengths, message, fresh = starts[keep], lengths[keep], message[keep], fresh[keep]
    return Pieces(starts, lengths, message, fresh, loose)


def whole_messages(arrivals: Arrivals) -> Pieces:
    """Take every message as one frame."""
    starts = arrivals.starts
    lengths = arrivals.ends - starts
    keep = lengths > 0
    message = np.flatnonzero(keep)
    return Pieces(starts[keep], lengths[keep], message, np.zeros(message.size, dtype=bool), 0)


def gather_columns(data: Bytes, starts: Indices, length: int) -> Bytes:
    """Bytes of frames of one length, shape (length, n): byte k of frame i at ``[k, i]``."""
    columns = np.empty((length, starts.size), dtype=np.uint8)
    for position in range(length):
        np.take(data, starts + position, out=columns[position])
    return columns
