"""SLIP frames (RFC 1055): the escapes of a whole flow of bytes undone at once."""

from __future__ import annotations

import numpy as np

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.framing.pieces import Pieces, split_at
from feltload.core import Bytes, Flags

__all__ = ["END", "slip_frames"]

END = 0xC0
_ESCAPE, _ESCAPED_END, _ESCAPED_ESCAPE = 0xDB, 0xDC, 0xDD


def slip_frames(arrivals: Arrivals) -> tuple[Bytes, Pieces, Flags]:
    """Cut a flow of SLIP bytes.

    Returns
    -------
    data : uint8 array
        The flow with its escapes undone.
    pieces : Pieces
        The frames in it.
    sound : bool array, shape (n,)
        Every escape of the frame is one that SLIP knows.

    References
    ----------
    J. Romkey (1988), "A nonstandard for transmission of IP datagrams over serial lines: SLIP", RFC 1055.
    """
    pieces = split_at(arrivals, END)
    data = arrivals.data
    escapes = np.flatnonzero(data == _ESCAPE)
    if not escapes.size:
        return data, pieces, np.ones(pieces.starts.size, dtype=bool)
    follows = data[np.minimum(escapes + 1, data.size - 1)]
    known = (follows == _ESCAPED_END) | (follows == _ESCAPED_ESCAPE)
    keep = np.ones(data.size, dtype=bool)
    keep[escapes] = False
    plain = data.copy()
    plain[escapes[known] + 1] = np.where(follows[known] == _ESCAPED_END, END, _ESCAPE)
    # Where every byte of the flow is to be found once the escapes are taken out.
    moved = np.concatenate([[0], np.cumsum(keep)])
    starts = moved[pieces.starts]
    lengths = moved[pieces.starts + pieces.lengths] - starts
    wrong = escapes[~known]
    stops = pieces.starts + pieces.lengths
    sound = np.searchsorted(wrong, pieces.starts) == np.searchsorted(wrong, stops)
    return plain[keep], Pieces(starts, lengths, pieces.message, pieces.fresh, pieces.loose_bytes), sound
