"""Lines with a prefix in front and a check value behind, as NMEA 0183 has them; both taken off."""

from __future__ import annotations

import numpy as np

from feltload.acquisition.wire.descriptions.checksum import Checksum
from feltload.acquisition.wire.framing.pieces import Pieces, gather_columns
from feltload.core import Bytes, Flags, Indices

__all__ = ["begins_with", "check_holds", "stripped"]

_CARRIAGE_RETURN = 0x0D
_DIGIT = np.full(256, 255, dtype=np.uint8)
for _value, _digit in enumerate(b"0123456789ABCDEF"):
    _DIGIT[_digit] = _value
for _value, _digit in enumerate(b"abcdef", start=10):
    _DIGIT[_digit] = _value


def begins_with(data: Bytes, pieces: Pieces, word: bytes) -> Flags:
    """Which pieces begin with a word and go on after it."""
    out = pieces.lengths > len(word)
    rows = np.flatnonzero(out)
    head = gather_columns(data, pieces.starts[rows], len(word))
    out[rows] = (head == np.frombuffer(word, dtype=np.uint8)[:, None]).all(axis=0)
    return out


def check_holds(data: Bytes, pieces: Pieces, checksum: Checksum, prefix: int) -> tuple[Flags, Flags]:
    """Compare the check values of lines.

    Parameters
    ----------
    data : uint8 array
    pieces : Pieces
        The lines.
    checksum : Checksum
    prefix : int
        Characters in front that the value does not cover.

    Returns
    -------
    marked, sound : bool arrays, shape (n,)
        Lines that end in the mark and as many hexadecimal digits as the value has; those whose value is right.
    """
    check = checksum.check
    behind = 1 + 2 * check.size
    ends = _text_ends(data, pieces)
    lengths = ends - pieces.starts
    marked = np.zeros(lengths.size, dtype=bool)
    sound = np.zeros(lengths.size, dtype=bool)
    covered = prefix + checksum.skip
    for length in np.unique(lengths[lengths > behind + covered]):
        rows = np.flatnonzero(lengths == length)
        columns = gather_columns(data, pieces.starts[rows], int(length))
        digits = _DIGIT[columns[-behind + 1 :]]
        marked[rows] = (columns[-behind] == ord(checksum.mark)) & (digits < 16).all(axis=0)
        sent = digits[0::2] << 4 | digits[1::2]
        # Written digits have the highest byte first, unless the description says otherwise.
        made = check.of_columns(columns[covered:-behind])
        sound[rows] = (
            (sent[::-1] == made).all(axis=0) if not checksum.big_endian else (sent == made).all(axis=0)
        )
    return marked, marked & sound


def stripped(data: Bytes, pieces: Pieces, prefix: int, behind: int) -> tuple[Bytes, Pieces]:
    """Lines without `prefix` characters in front and `behind` characters at their end.

    Lines that are shorter are left empty. The delimiters stay where they were: one after each line.
    """
    if not prefix and not behind:
        return data, pieces
    ends = _text_ends(data, pieces) if behind else pieces.starts + pieces.lengths
    stops = pieces.starts + pieces.lengths
    first = np.minimum(pieces.starts + prefix, stops)
    last = np.maximum(ends - behind, first)
    change = np.zeros(data.size + 1, dtype=np.int8)
    for low, high in ((pieces.starts, first), (last, ends)):
        # Of one line both spans are apart; spans of two lines too.
        np.add.at(change, low, -1)
        np.add.at(change, high, 1)
    keep = np.cumsum(change[:-1], dtype=np.int8) == 0
    moved = np.concatenate([[0], np.cumsum(keep)])
    starts = moved[pieces.starts]
    return data[keep], Pieces(starts, moved[stops] - starts, pieces.message, pieces.fresh, pieces.loose_bytes)


def _text_ends(data: Bytes, pieces: Pieces) -> Indices:
    """Where the text of each line ends: before a carriage return, if there is one."""
    ends = pieces.starts + pieces.lengths
    returned = (pieces.lengths > 0) & (data[np.maximum(ends - 1, 0)] == _CARRIAGE_RETURN)
    return np.asarray(ends - returned)
