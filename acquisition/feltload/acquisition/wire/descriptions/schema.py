"""What a sensor sends, described in a file instead of code; and the rig that several sensors make."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from feltload.acquisition.wire.descriptions.fields import AXES, FieldDescription
from feltload.acquisition.wire.descriptions.framing_keys import FramingKeys
from feltload.acquisition.wire.descriptions.link_config import (
    FileLinkConfig,
    LinkConfig,
    ReplayLinkConfig,
    SerialLinkConfig,
    Table,
)

__all__ = ["RigDescription", "StreamDescription"]


_NAMES_ONCE = {
    "force",
    "seq",
    "device_time",
    "host_time",
    "interval",
    "count",
    "length",
    *AXES["gyro"],
    *AXES["accel"],
}


class StreamDescription(FramingKeys):
    """One sensor: how it is reached, how its bytes are cut, what they mean.

    Parameters
    ----------
    name : str
        Stream name, unique in the rig.
    kind : {"force", "inertial"}
    side : {"left", "right"}, optional
    link : LinkConfig
    fields : list of FieldDescription
        In the order they are sent. Of a text line: its columns.
    records : list of FieldDescription
        Fields that repeat to the end of the frame, or ``count`` times: several samples per frame.
        Sequence number and device time in `fields` are those of the sample that `stamp` names. Without a
        field ``interval`` the samples of a frame lie evenly between the stamps of neighbouring frames.
    stamp : {"first", "last"}
        The sample of a frame that its sequence number and device time belong to.
    rate_hz : float, optional
        Expected sample rate.
    rated_capacity_n : float, optional
        Rated capacity of the load cell; more is overload.
    timing : {"arrival", "column", "common"}
        Where `host_s` comes from. "arrival": the stamp of the message that carried the sample.
        "column": a ``host_time`` column that a logger stamped on arrival. "common": ``device_time``
        itself is the one clock of all streams, nothing is left to join.
    host_offset_s : float
        Added to a ``host_time`` column, or to a common ``device_time``, to count from the start of
        the recording.
    serial : str, optional
        Serial number of the sensor, compared with that of its certificate.
    certificate : str, optional
        Name of the calibration certificate in the recording that belongs to this sensor.
    """

    name: Annotated[str, Field(min_length=1, pattern=r"^[\w.-]+$")]
    kind: Literal["force", "inertial"]
    side: Literal["left", "right"] | None = None
    link: LinkConfig = SerialLinkConfig()
    fields: tuple[FieldDescription, ...] = ()
    records: tuple[FieldDescription, ...] = ()
    stamp: Literal["first", "last"] = "first"
    rate_hz: Annotated[float, Field(gt=0.0)] | None = None
    rated_capacity_n: Annotated[float, Field(gt=0.0)] | None = None
    timing: Literal["arrival", "column", "common"] = "arrival"
    host_offset_s: float = 0.0
    serial: str | None = None
    certificate: str | None = None

    @model_validator(mode="after")
    def _check(self) -> Self:
        every = self.fields + self.records
        text = self.framing == "lines"
        for item in every:
            if text != (item.type in ("number", "text")):
                kinds = "number or text" if text else "u8, i16, i32, f32 ..."
                raise ValueError(f"field {item.name}: a {self.framing} frame has types {kinds}")
        if text and self.records:
            raise ValueError("text lines have no records")
        if not every:
            raise ValueError("fields are missing; list what is sent, in its order")
        self._check_sizes()
        self._check_flags()
        always = [item.name for item in every if item.present_if is None]
        named = [name for name in always if name in _NAMES_ONCE]
        for name in set(named):
            if named.count(name) > 1:
                raise ValueError(f"duplicate field {name}")
        missing = [name for name in self.measured if name not in {item.name for item in every}]
        if missing:
            raise ValueError(f"a {self.kind} stream needs the fields {', '.join(missing)}")
        names = {item.name for item in every}
        if self.timing == "column" and "host_time" not in names:
            raise ValueError('timing = "column" needs a host_time field')
        if self.timing == "common" and "device_time" not in names:
            raise ValueError('timing = "common" needs a device_time field')
        clock = self.field("device_time")
        if self.timing == "common" and clock is not None and (clock.si_factor != 1.0 or clock.counter_size):
            raise ValueError('timing = "common" needs a device_time in seconds that does not wrap')
        return self

    def _check_sizes(self) -> None:
        """Make sure that the length of a frame behind a sync word can be known."""
        for part in (self.fields, self.records):
            if part and part[0].shared:
                raise ValueError(f"{part[0].name} is shared, but no field comes before it")
        counted = any(item.name == "length" for item in self.fields)
        if self.framing != "sync":
            if counted and self.length_adds:
                raise ValueError('length_adds is for framing = "sync"')
            return
        if counted:
            if self.frame_bytes is not None:
                raise ValueError("give a length field or frame_bytes, not both")
            before = self.fields[: [item.name for item in self.fields].index("length")]
            if any(item.present_if for item in before) or self.fields[len(before)].type[0] in "f":
                raise ValueError("length is a whole number, and no field before it is optional")
        elif self.frame_bytes is None and (self.records or any(item.present_if for item in self.fields)):
            raise ValueError("frames of changing content need a field called length, or frame_bytes")

    def _check_flags(self) -> None:
        flags = {item.present_if.field for item in self.fields + self.records if item.present_if}
        if len(flags) > 1 or (flags and self.framing == "lines"):
            raise ValueError("present_if works with one flags field of a binary frame")
        for name in flags:
            flag = self.field(name)
            before = self.fields[: self.fields.index(flag)] if flag in self.fields else None
            if before is None or any(item.present_if for item in before):
                raise ValueError(f"present_if names {name}, which is no field before every optional one")
        if any(item.equals is not None and item.type == "text" for item in self.fields[1:]):
            raise ValueError("only the first column of a line can be a word that marks the stream")

    @property
    def measured(self) -> tuple[str, ...]:
        """Names of the fields that this kind of stream measures."""
        return ("force",) if self.kind == "force" else AXES["gyro"] + AXES["accel"]

    def field(self, name: str) -> FieldDescription | None:
        """First field of a name, None if there is none."""
        return next((item for item in self.fields + self.records if item.name == name), None)


class RigDescription(Table):
    """All sensors of one session.

    Parameters
    ----------
    name : str
    streams : list of StreamDescription
    invented : bool
        Whether the sensors, and what they measure, are emulated; whatever is made of the data then says so.

    Notes
    -----
    Streams with an equal link share it: it is opened once, and its bytes are kept once, in the
    channel named after the first of them.
    """

    name: str = "rig"
    streams: Annotated[tuple[StreamDescription, ...], Field(min_length=1)]
    invented: bool = False

    @model_validator(mode="after")
    def _check(self) -> Self:
        names = [stream.name for stream in self.streams]
        for name in set(names):
            if names.count(name) > 1:
                raise ValueError(f'two streams are called "{name}"; give each its own name')
        return self

    def stream(self, name: str) -> StreamDescription:
        """Description of the stream of a name.

        Raises
        ------
        KeyError
            If the rig has no such stream.
        """
        for stream in self.streams:
            if stream.name == name:
                return stream
        raise KeyError(name)

    def channel_of(self, name: str) -> str:
        """Name of the channel that keeps the bytes of a stream."""
        link = self.stream(name).link
        alone = isinstance(link, FileLinkConfig | ReplayLinkConfig)
        if alone or (isinstance(link, SerialLinkConfig) and link.port == "auto"):
            return name
        return next(stream.name for stream in self.streams if stream.link == link)

    def channels(self) -> dict[str, tuple[StreamDescription, ...]]:
        """Channels of the rig, each with the streams whose bytes it keeps."""
        out: dict[str, tuple[StreamDescription, ...]] = {}
        for stream in self.streams:
            channel = self.channel_of(stream.name)
            out[channel] = (*out.get(channel, ()), stream)
        return out
