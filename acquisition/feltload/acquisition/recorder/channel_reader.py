"""Reads one link of a rig for the recorder: connects, recognises the sensor, follows losses and returns."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.identify_stream import identify_stream
from feltload.acquisition.links.link import Arrival, LinkDown, LinkUp
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.recorder.facts import LinkFact
from feltload.acquisition.wire.descriptions.link_config import BleLinkConfig, SerialLinkConfig
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import Fact, Figure, Severity

UNREADABLE_S = 3.0
"""Time for which a link may bring bytes that mean nothing before it counts as wrong."""


@dataclass(frozen=True)
class Patience:
    """How long the recorder waits, in seconds.

    Attributes
    ----------
    first_silence_s : float
        For the first bytes of a sensor; boards may take seconds to start.
    silence_s : float
        Between messages before a link counts as lost.
    back_off : BackOff
        Between attempts to connect again.
    """

    first_silence_s: float = 5.0
    silence_s: float = 2.0
    back_off: BackOff = field(default_factory=BackOff)


def link_lost(error: LinkError, **figures: Figure) -> Fact:
    """The fact that a link was lost, with what its error says."""
    cause: dict[str, Figure] = {"what": error.what, "reason": str(error.reason)}
    return Fact(LinkFact.LINK_LOST, figures={**cause, **figures})


class Sink(Protocol):
    """Where a channel's messages go."""

    def ready(self, reader: ChannelReader) -> None:
        """Take note that the link works and its sensor is recognised, for the first time or again."""

    def message(self, reader: ChannelReader, arrival: Arrival) -> None:
        """Take one message."""

    def lost(self, reader: ChannelReader, event: LinkDown) -> None:
        """Take note that the link was lost."""


class ChannelReader:
    """Reads one link.

    Parameters
    ----------
    channel : str
        The channel that the rig file gives this link.
    streams : sequence of StreamDescription
        The streams expected on it.
    others : sequence of StreamDescription
        Streams of other serial ports of the rig, one of which the board may turn out to be.
    reconnection : Reconnection
    where : str
        Port or address, for messages.
    """

    def __init__(
        self,
        channel: str,
        streams: Sequence[StreamDescription],
        others: Sequence[StreamDescription],
        reconnection: Reconnection,
        *,
        where: str,
    ) -> None:
        self.channel = channel
        self.where = where
        self.streams = tuple(streams)
        self.connected = False
        self.ended = False
        self.trouble: Fact | None = None
        self.sends: StreamDescription | None = None
        self.since_ns = 0
        self._ever_ready = False
        self._others = tuple(others)
        self._reconnection = reconnection

    @property
    def backlog(self) -> int:
        """Messages received and not yet taken."""
        return self._reconnection.backlog

    @property
    def dropped(self) -> int:
        """Messages thrown away because the backlog was full."""
        return self._reconnection.dropped

    async def run(self, sink: Sink) -> None:
        """Read until the link ends; losses are followed by attempts to connect again.

        Raises
        ------
        LinkError
            When the link does not open the first time, stays silent, or brings nothing readable.
        """
        held: list[Arrival] = []
        async with contextlib.aclosing(self._reconnection.run()) as events:
            async for event in events:
                match event:
                    case Arrival() if self.sends is not None:
                        sink.message(self, event)
                    case Arrival():
                        held.append(event)
                        self._recognise(held)
                        if self.sends is not None:
                            self.connected, self.trouble, self._ever_ready = True, None, True
                            self.since_ns = held[0].host_ns
                            sink.ready(self)
                            for arrival in held:
                                sink.message(self, arrival)
                            held.clear()
                    case LinkDown():
                        # Another board may be plugged in when it returns.
                        self.connected, self.sends = False, None
                        self.trouble = link_lost(event.error)
                        held.clear()
                        sink.lost(self, event)
                    case LinkUp():
                        self.trouble = Fact(LinkFact.LINK_RETURNED, Severity.NOTE)
        # A sensor's link goes on for ever; that of a replay ends.
        self.ended = True

    def _recognise(self, held: list[Arrival]) -> None:
        """Recognise the sensor by what has arrived; after a while without success, report it."""
        pairs = [(arrival.host_ns, arrival.data) for arrival in held]
        self.sends = identify_stream(pairs, (*self.streams, *self._others))
        if self.sends is not None or held[-1].host_ns - held[0].host_ns <= UNREADABLE_S * 1e9:
            return
        received = sum(len(arrival.data) for arrival in held)
        held.clear()
        expected = " or ".join(f'"{stream.name}" ({stream.framing})' for stream in self.streams)
        if self._ever_ready:
            # The other sensors go on; this one may yet be readable again.
            unreadable: dict[str, Figure] = {"bytes": received, "expected": expected}
            self.trouble = Fact(LinkFact.BYTES_UNREADABLE, Severity.SERIOUS, figures=unreadable)
            return
        raise LinkError(
            f"{received} bytes arrived, but none of them can be read as {expected}",
            reason=LinkReason.UNSUPPORTED,
            where=self.where,
            remedy=self._unreadable_remedy(),
        )

    def _unreadable_remedy(self) -> str:
        link = self.streams[0].link
        if isinstance(link, SerialLinkConfig):
            return (
                f"check the baud rate (now {link.baud}) and the framing in the rig file; "
                f"`feltload devices {link.port} --write FILE` finds out what it sends"
            )
        if isinstance(link, BleLinkConfig):
            return "check the characteristic and the fields in the rig file"
        return "check the framing and the fields in the rig file"
