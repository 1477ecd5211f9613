"""What every link to a sensor is: an opened source of bytes with the time each piece arrived."""

from __future__ import annotations

from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, Self

from feltload.acquisition.errors import LinkError


@dataclass(frozen=True, slots=True)
class Arrival:
    """Bytes as they came in.

    Attributes
    ----------
    data : bytes
        What arrived: what a serial port gave within a few milliseconds (frames may be cut anywhere), or
        exactly one Bluetooth LE notification.
    host_ns : int
        `time.monotonic_ns` when the last byte of `data` was there.
    """

    data: bytes
    host_ns: int


@dataclass(frozen=True, slots=True)
class LinkDown:
    """The link was lost at `host_ns`; nothing arrives until the next `LinkUp`."""

    host_ns: int
    error: LinkError


@dataclass(frozen=True, slots=True)
class LinkUp:
    """The link works again from `host_ns` on, after `attempts` tries."""

    host_ns: int
    attempts: int


class Link(Protocol):
    """A source of bytes: serial port, Bluetooth LE peripheral, replayed recording.

    Entering opens it or raises `LinkError`; leaving closes it and always succeeds. Iterating gives
    arrivals in order, for example ``Arrival(b"\\x0bF\\x01\\x07...\\x00", 81_234_567_890)``, until the source
    ends (a replay) or is lost (`LinkError` with reason ``LOST``). A link is used once: to connect again,
    make a new one.
    """

    @property
    def where(self) -> str:
        """Port, address or file, as shown to a person."""

    @property
    def backlog(self) -> int:
        """Arrivals received and not yet taken."""

    @property
    def dropped(self) -> int:
        """Arrivals thrown away because the backlog was full."""

    async def __aenter__(self) -> Self: ...

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def __aiter__(self) -> Self: ...

    async def __anext__(self) -> Arrival: ...
