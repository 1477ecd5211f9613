"""State of every stream of a rig while it is being recorded."""

from __future__ import annotations

from dataclasses import replace

from feltload.acquisition.recorder.live_health import LiveHealth
from feltload.acquisition.recording.status import StreamStatus
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.acquisition.wire.health import StreamHealth
from feltload.core import Fact

__all__ = ["LiveStreams"]


class LiveStreams:
    """Counts and latest values of a rig's streams, brought up to date from what arrived on its channels.

    Parameters
    ----------
    rig : RigDescription
    """

    def __init__(self, rig: RigDescription) -> None:
        self._rig = rig
        self._channels = rig.channels()
        self._fresh: dict[str, list[tuple[int, bytes]]] = {channel: [] for channel in self._channels}
        self._dropped = dict.fromkeys(self._channels, 0)
        self._live = {
            stream.name: LiveHealth(stream, tuple(other for other in streams if other is not stream))
            for streams in self._channels.values()
            for stream in streams
        }

    def take(self, channel: str, host_ns: int, data: bytes) -> None:
        """Keep what arrived until the next `update`."""
        self._fresh[channel].append((host_ns, data))

    def drop(self, channel: str) -> None:
        """Count a message that could not be kept."""
        self._dropped[channel] += 1

    def update(self, now_ns: int) -> None:
        """Decode and count what arrived since the last call."""
        for channel, streams in self._channels.items():
            fresh, self._fresh[channel] = self._fresh[channel], []
            for stream in streams:
                self._live[stream.name].feed(fresh, now_ns)

    def health(self, name: str, dropped_before: int) -> StreamHealth:
        """Counts of a stream; `dropped_before` messages were lost before they came here."""
        dropped = dropped_before + self._dropped[self._rig.channel_of(name)]
        return replace(self._live[name].total, dropped_messages=dropped)

    def status(
        self, name: str, *, connected: bool, backlog: int, dropped_before: int, trouble: Fact | None
    ) -> StreamStatus:
        """State of a stream, as shown to a person."""
        window = self._live[name].window
        return StreamStatus(
            name=name,
            connected=connected,
            rate_hz=window.rate_hz,
            health=self.health(name, dropped_before),
            latest=window.latest,
            overloaded=window.overloaded,
            backlog=backlog,
            trouble=trouble,
        )
