"""Bytes of a rig's channels to samples in SI for its arms."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.acquisition import (
    AnyCertificate,
    CertificateError,
    InertialCertificate,
    LiveSamples,
    Mark,
    RecordingInfo,
    StreamDescription,
    parse_certificate,
)
from feltload.app.live.state.arm import Arm
from feltload.app.running.facts import LiveFact
from feltload.calibration import parse_machine, reference_of
from feltload.core import Fact, Severity


class Streams:
    """Decodes what arrives and gives it to the arm that it is of.

    Parameters
    ----------
    info : RecordingInfo
        Rig and certificates.
    origin_ns : int
        Host time from which the recording counts.

    Attributes
    ----------
    arms : tuple of Arm
        Left before right, or the only one.
    overloaded : bool
        Whether the last `decode` brought a reading above a cell's rated capacity.
    """

    def __init__(self, info: RecordingInfo, origin_ns: int) -> None:
        self._info = info
        self.overloaded = False
        self._fresh: dict[str, list[tuple[int, bytes]]] = {}
        self._decoders: dict[str, list[tuple[StreamDescription, LiveSamples]]] = {}
        for channel, streams in info.rig.channels().items():
            self._decoders[channel] = [
                (
                    stream,
                    LiveSamples(
                        stream,
                        [other for other in streams if other is not stream],
                        self._certificate(stream),
                        origin_ns=origin_ns,
                    ),
                )
                for stream in streams
            ]
        self.arms = tuple(self._arm(side) for side in _sides(info))
        self._arms_of = {
            stream.name: [arm for arm in self.arms if stream.name in (arm.force_stream, arm.inertial_stream)]
            for stream in info.rig.streams
        }

    def take(self, channel: str, messages: Sequence[tuple[int, bytes]]) -> None:
        """Keep what arrived until the next `decode`."""
        self._fresh.setdefault(channel, []).extend(messages)

    def decode(self, marks: Sequence[Mark]) -> bool:
        """Decode what arrived since; whether there was anything."""
        self.overloaded = False
        fresh, self._fresh = self._fresh, {}
        for channel, messages in fresh.items():
            for stream, samples in self._decoders.get(channel, ()):
                self._give(self._arms_of[stream.name], stream, samples, messages, marks)
        return bool(fresh)

    def _give(
        self,
        arms: Sequence[Arm],
        stream: StreamDescription,
        samples: LiveSamples,
        messages: list[tuple[int, bytes]],
        marks: Sequence[Mark],
    ) -> None:
        try:
            frame = samples.push(messages)
        except CertificateError as error:
            trouble = Fact(
                LiveFact.FORCE_NOT_KNOWN, Severity.SERIOUS, stream=stream.name, figures={"what": error.what}
            )
            for arm in arms:
                arm.trouble = trouble
            return
        if stream.kind == "force":
            limit = stream.rated_capacity_n
            if limit is not None and len(frame) and float(frame["force_n"].abs().max()) > limit:
                self.overloaded = True
        for arm in arms:
            if stream.kind == "force":
                arm.push_force(frame, marks)
            else:
                arm.push_inertial(frame)

    def _certificate(self, stream: StreamDescription) -> AnyCertificate | None:
        text = self._info.certificates.get(stream.certificate or stream.name)
        return None if text is None else parse_certificate(text, where=f"certificate of {stream.name}")

    def _arm(self, side: str | None) -> Arm:
        force, inertial = (_first(self._info, kind, side) for kind in ("force", "inertial"))
        certificate = None if inertial is None else self._certificate(inertial)
        return Arm(
            side if side in ("left", "right") else None,  # type: ignore[arg-type]
            None if force is None else force.name,
            None if inertial is None else inertial.name,
            certificate if isinstance(certificate, InertialCertificate) else None,
            _rolling_m(self._info),
        )


def _rolling_m(info: RecordingInfo) -> float:
    """Radius of what the sensor turns with, where the machine file says that it may roll."""
    return reference_of(parse_machine(info.machine_toml)).rolling_m if info.machine_toml else 0.0


def _sides(info: RecordingInfo) -> tuple[str | None, ...]:
    sides = {stream.side for stream in info.rig.streams if stream.side is not None}
    if len(sides) > 1:
        return ("left", "right")
    return (info.side or next(iter(sides), None),)


def _first(info: RecordingInfo, kind: str, side: str | None) -> StreamDescription | None:
    """The stream of a kind and side; one without a side suits both."""
    suits = [stream for stream in info.rig.streams if stream.kind == kind and stream.side in (None, side)]
    return suits[0] if suits else None
