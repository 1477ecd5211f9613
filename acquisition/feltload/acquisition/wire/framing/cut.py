"""A flow of bytes cut into binary frames, by the framing that a description names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.pieces import Pieces, split_at, whole_messages
from feltload.acquisition.wire.framing.slip_frames import slip_frames
from feltload.acquisition.wire.framing.sync_frames import sync_frames
from feltload.core import Bytes, Flags

__all__ = ["CutFrames", "cut_frames"]


@dataclass(frozen=True, eq=False)
class CutFrames:
    """Frames in a flow of bytes.

    Parameters
    ----------
    data : uint8 array
        What `pieces` points into.
    pieces : Pieces
    sound : bool array, optional
        What the framing itself says of each; None where it says nothing.
    checked : bool
        Whether their checksums were compared already.
    bad_checksum, bad_frames, ignored_frames : int
        What was found beside them.
    """

    data: Bytes
    pieces: Pieces
    sound: Flags | None = None
    checked: bool = False
    bad_checksum: int = 0
    bad_frames: int = 0
    ignored_frames: int = 0


def cut_frames(
    arrivals: Arrivals, description: StreamDescription, siblings: Sequence[StreamDescription] = ()
) -> CutFrames:
    """Cut what arrived, as the description says.

    Parameters
    ----------
    arrivals : Arrivals
    description : StreamDescription
        Of any framing but "lines".
    siblings : sequence of StreamDescription
        Other streams of the same link.
    """
    match description.framing:
        case "cobs":
            return CutFrames(arrivals.data, split_at(arrivals, 0))
        case "slip":
            data, pieces, sound = slip_frames(arrivals)
            return CutFrames(data, pieces, sound)
        case "sync":
            found = sync_frames(arrivals, description, siblings)
            return CutFrames(
                arrivals.data,
                found.pieces,
                checked=True,
                bad_checksum=found.bad_checksum,
                bad_frames=found.bad_frames,
                ignored_frames=found.ignored,
            )
        case _:
            return CutFrames(arrivals.data, whole_messages(arrivals))
