"""How far a flow of bytes that still grows holds whole frames, and where the last of them begins."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.slip_frames import END
from feltload.acquisition.wire.framing.sync_frames import sync_frames

__all__ = ["WholeMessages", "last_whole_frame"]

_LONGEST_TAIL = 8192
"""Bytes kept of a frame that does not end: more is not a frame."""

_LAST_MESSAGES = 64
"""Messages in which the last frame is looked for."""

Message = tuple[int, bytes]

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


class WholeMessages:
    """Messages as they come, handed on as far as they hold whole frames; the rest waits for what follows.

    Parameters
    ----------
    description : StreamDescription
    siblings : sequence of StreamDescription
        Other streams whose frames come over the same link.
    """

    def __init__(self, description: StreamDescription, siblings: Sequence[StreamDescription] = ()) -> None:
        self._description, self._siblings = description, siblings
        self._open: list[Message] = []

    def take(self, messages: list[Message]) -> list[Message]:
        """Messages up to the last frame end; an empty one says that the link was opened again."""
        if self._description.framing == "notification":
            return messages
        ready: list[Message] = []
        for host_ns, data in messages:
            if data:
                self._open.append((host_ns, data))
            else:
                ready += [*self._closed(), (host_ns, data)]
                self._open = []
        return ready + self._closed()

    def last_frame(self, whole: list[Message]) -> list[Message]:
        """The last frame of messages that `take` handed on."""
        host_ns, data = whole[-1]
        if self._description.framing == "notification" or not data:
            return [(host_ns, data)]
        # It may have come in several messages.
        place = len(whole)
        while place and whole[place - 1][1] and len(whole) - place < _LAST_MESSAGES:
            place -= 1
        flow = b"".join(data for _, data in whole[place:])
        start, end = last_whole_frame(flow, self._description, self._siblings)
        return [(host_ns, flow[start:end])]

    def _closed(self) -> list[Message]:
        """Take what holds whole frames out of the messages that wait."""
        flow = b"".join(data for _, data in self._open)
        _, end = last_whole_frame(flow, self._description, self._siblings)
        ready: list[Message] = []
        while end > 0:
            host_ns, data = self._open.pop(0)
            ready.append((host_ns, data[:end]))
            if end < len(data):
                self._open.insert(0, (host_ns, data[end:]))
            end -= len(data)
        while sum(len(data) for _, data in self._open) > _LONGEST_TAIL:
            self._open.pop(0)
        return ready
