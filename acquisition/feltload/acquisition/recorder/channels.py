"""The links of a rig while it is recorded: a reader for each, and which sensor is on which."""

from __future__ import annotations

from feltload.acquisition.links.ports import FollowedPort, PortRegister
from feltload.acquisition.links.reconnection import Reconnection
from feltload.acquisition.recorder.channel_reader import ChannelReader, Patience
from feltload.acquisition.recorder.opening import link_name, link_opener
from feltload.acquisition.wire.descriptions.link_config import SerialLinkConfig
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription

__all__ = ["Channels"]


class Channels:
    """A reader for each channel of a rig.

    Parameters
    ----------
    rig : RigDescription
    patience : Patience

    Attributes
    ----------
    readers : tuple of ChannelReader
    """

    def __init__(self, rig: RigDescription, patience: Patience) -> None:
        self._rig, self._patience = rig, patience
        self._register = PortRegister()
        self._ports: dict[str, FollowedPort] = {}
        self.readers = tuple(self._reader(channel, streams) for channel, streams in rig.channels().items())

    def channel_of(self, reader: ChannelReader) -> str:
        """Channel of the sensor that is on the link now, unless another link has it already."""
        if reader.sends is None or reader.sends in reader.streams:
            return reader.channel
        channel = self._rig.channel_of(reader.sends.name)
        rightful = self.reader_of(channel)
        return reader.channel if rightful.sends in rightful.streams else channel

    def reader_of(self, channel: str) -> ChannelReader:
        """The reader that the rig file gives a channel."""
        return next(reader for reader in self.readers if reader.channel == channel)

    def sending(self, channel: str) -> ChannelReader:
        """The reader whose link brings a channel's sensor now; the channel's own while none does."""
        return next(
            (reader for reader in self.readers if reader.connected and self.channel_of(reader) == channel),
            self.reader_of(channel),
        )

    def rename(self, reader: ChannelReader) -> str | None:
        """Take note of the name under which a reader's port came back; the former one, None if it is the same."""
        port = self._ports.get(reader.channel)
        if port is None or port.name == reader.where:
            return None
        former, reader.where = reader.where, port.name
        return former

    def _reader(self, channel: str, streams: tuple[StreamDescription, ...]) -> ChannelReader:
        link = streams[0].link
        others: list[StreamDescription] = []
        if isinstance(link, SerialLinkConfig):
            self._ports[channel] = self._register.follow(link.port)
            others = [
                stream
                for stream in self._rig.streams
                if isinstance(stream.link, SerialLinkConfig) and stream not in streams
            ]
        reconnection = Reconnection(
            link_opener(link, stream=streams[0].name, port=self._ports.get(channel)),
            back_off=self._patience.back_off,
            silence_s=self._patience.silence_s,
            first_silence_s=self._patience.first_silence_s,
        )
        return ChannelReader(channel, streams, others, reconnection, where=link_name(link))
