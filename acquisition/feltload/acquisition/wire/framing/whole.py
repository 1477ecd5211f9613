"""How far a flow of bytes that still grows holds whole frames, and where the last of them begins."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.slip_frames import END
from feltload.acquisition.wire.framing.sync_frames import sync_frames

__all__ = ["last_whole_frame"]

_DELIMITERS = {"cobs": b"\x00", "slip": bytes([END]), "lines": b"\n"}


def last_whole_frame(
    data: bytes, description: StreamDescription, siblings: Sequence[StreamDescription] = ()
) -> tuple[int, int]:
    """Start and end of the last whole frame or line in some bytes; (0, 0) where there is none.

    Messages are frames by themselves: of framing "notification" all bytes are one.
    """
    if description.framing == "notification":
        return 0, len(data)
    if description.framing == "sync":
        return sync_frames(Arrivals.from_pairs([(0, data)]), description, siblings).last
    delimiter = _DELIMITERS[description.framing]
    end = data.rfind(delimiter) + 1
    return data.rfind(delimiter, 0, max(0, end - 1)) + 1, end
