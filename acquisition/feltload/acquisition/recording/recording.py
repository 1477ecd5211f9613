"""A recording: what arrived from the sensors of one session, with everything needed to read it."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from feltload.acquisition.errors import CertificateError, RecordingError
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.recording.marks import Mark, read_marks
from feltload.acquisition.recording.messages import Messages
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.core import Fact, InputError, Severity

# What cuts, describes and calibrates loads where a recording is read: a notebook imports it for nothing else.
if TYPE_CHECKING:
    from feltload.acquisition.certificates.certificate import AnyCertificate
    from feltload.acquisition.recording.info import RecordingInfo
    from feltload.acquisition.wire.decode import Decoded
    from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription
    from feltload.acquisition.wire.health import StreamHealth

__all__ = ["Recording", "read_recording"]


class Recording:
    """A recording that was read. Streams are decoded when asked for.

    Attributes
    ----------
    info : RecordingInfo
    marks : tuple of Mark
        In order of time.
    damage : tuple of Fact
        What is damaged in the file or missing from it, of kinds `DamageFact`; empty when it is whole.
    """

    def __init__(
        self,
        info: RecordingInfo,
        messages: Mapping[str, Messages],
        *,
        marks: tuple[Mark, ...] = (),
        damage: tuple[Fact, ...] = (),
        origin_ns: int = 0,
        damaged_certificates: frozenset[str] = frozenset(),
        reported: Mapping[str, Mapping[str, object]] | None = None,
        where: str = "",
        accept_expired: bool = False,
    ) -> None:
        self.info = info
        self.marks = marks
        self.damage = damage
        self.where = where
        self.origin_ns = origin_ns
        self._messages = messages
        self._reported = reported or {}
        self._accept_expired = accept_expired
        self._damaged_certificates = damaged_certificates
        self._decoded: dict[str, Decoded] = {}

    def until(self, host_ns: int) -> Recording:
        """The recording as it was at a host time: what arrived and was marked by then."""
        cut: dict[str, Messages] = {}
        for name, messages in self._messages.items():
            count = bisect_right(messages.host_ns, host_ns)
            cut[name] = Messages(messages.host_ns[:count], messages.data[:count])
        until_s = (host_ns - self.origin_ns) * 1e-9
        return Recording(
            self.info,
            cut,
            marks=tuple(mark for mark in self.marks if mark.start_s <= until_s),
            damage=self.damage,
            origin_ns=self.origin_ns,
            damaged_certificates=self._damaged_certificates,
            where=self.where,
            accept_expired=self._accept_expired,
        )

    @property
    def load_kg(self) -> float:
        """Mass loaded on the machine.

        Raises
        ------
        InputError
            If the recording states none, as that of a sensor alone.
        """
        return self.info.required_load_kg(self.where)

    def description(self, name: str) -> StreamDescription:
        """Description of a stream.

        Raises
        ------
        InputError
            If the recording has no such stream.
        """
        try:
            return self.info.rig.stream(name)
        except KeyError:
            names = ", ".join(stream.name for stream in self.info.rig.streams)
            raise InputError(f'no stream "{name}"', where=self.where, remedy=f"it has {names}") from None

    def messages(self, name: str) -> Arrivals:
        """Bytes of a stream as they arrived (those of its whole link)."""
        channel = self.info.rig.channel_of(self.description(name).name)
        messages = self._messages.get(channel, Messages())
        return Arrivals.from_lists(messages.host_ns, messages.data)

    def decoded(self, name: str) -> Decoded:
        """Samples before any certificate, and health."""
        from feltload.acquisition.wire.decode import Decoded, decode

        if name not in self._decoded:
            description = self.description(name)
            channel = self.info.rig.channel_of(name)
            siblings = tuple(s for s in self.info.rig.channels()[channel] if s.name != name)
            result = decode(self.messages(name), description, origin_ns=self.origin_ns, siblings=siblings)
            dropped = self._reported.get(name, {}).get("dropped_messages")
            if isinstance(dropped, int) and dropped:
                result = Decoded(result.frame, replace(result.health, dropped_messages=dropped))
            self._decoded[name] = result
        return self._decoded[name]

    def certificate(self, name: str) -> AnyCertificate | None:
        """Certificate of a stream's sensor, None if the recording has none for it.

        Raises
        ------
        CertificateError
            If it has one that is damaged.
        """
        from feltload.acquisition.certificates.certificate import parse_certificate

        key = self.description(name).certificate or name
        if key in self._damaged_certificates:
            raise CertificateError(
                f'the certificate "{key}" in it is damaged',
                where=self.where,
                remedy="give it again with --certificate",
            )
        text = self.info.certificates.get(key)
        return None if text is None else parse_certificate(text, where=f"{self.where}: certificate {key}")

    def stream(self, name: str, *, raw: bool = False) -> pd.DataFrame:
        """Samples of a stream in SI.

        Parameters
        ----------
        name : str
        raw : bool
            Without applying the sensor's certificate; a cell may then read ``force_counts``.

        Returns
        -------
        DataFrame
            As in `decode.Decoded`.

        Raises
        ------
        InputError
            No such stream.
        CertificateError
            Counts without a certificate, or a certificate that does not apply.
        """
        from feltload.acquisition.recording.streams import calibrated

        frame = self.decoded(name).frame
        if raw:
            return frame
        started = self.info.started_utc[:10]
        return calibrated(
            frame,
            self.description(name),
            self.certificate(name),
            on=dt.date.fromisoformat(started) if started else None,
            accept_expired=self._accept_expired,
            where=self.where,
        )

    def streams_of(self, kind: str, side: str | None = None) -> tuple[str, ...]:
        """Names of the streams of a kind, of one side if given (a stream without side suits both)."""
        return tuple(
            stream.name
            for stream in self.info.rig.streams
            if stream.kind == kind and (side is None or stream.side in (None, side))
        )

    @cached_property
    def samples_sha256(self) -> str:
        """Digest of the bytes that the sensors sent: the same for every copy of one recording."""
        digest = hashlib.sha256()
        for name in sorted(self._messages):
            digest.update(name.encode())
            for data in self._messages[name].data:
                digest.update(data)
        return digest.hexdigest()

    @cached_property
    def health(self) -> dict[str, StreamHealth]:
        """Health of every stream."""
        return {stream.name: self.decoded(stream.name).health for stream in self.info.rig.streams}


def read_recording(
    path: str | Path,
    *,
    certificates: Mapping[str, str] | None = None,
    accept_expired: bool = False,
    rig: RigDescription | None = None,
    rig_from: str = "",
) -> Recording:
    """Read a recording, also one that was cut.

    Parameters
    ----------
    path : path
    certificates : mapping, optional
        Certificates (JSON text by name) that add to or replace those in the file.
    accept_expired : bool
        Use certificates past their expiry.
    rig : RigDescription, optional
        Read the sensors as this describes them, in place of the description kept in it.
    rig_from : str
        The file of `rig`, for messages.

    Raises
    ------
    RecordingError
        Missing, not a recording, or cut before its description was written; what cannot be done without
        (load, rig, start) is damaged; or `rig` describes none of its streams.
    """
    from feltload.acquisition.recording.contents import read_container
    from feltload.acquisition.recording.info import read_info

    path = Path(path)
    contents = read_container(path)
    stored = read_info(contents, path, rig=rig, rig_from=rig_from)
    given = dict(certificates or {})
    info = replace(stored.info, certificates={**stored.info.certificates, **given})
    every = [messages.host_ns[0] for messages in contents.messages.values()]
    origin = min(every, default=0) if stored.start_ns is None else stored.start_ns
    sensors = {
        topic.removeprefix("sensor/"): messages
        for topic, messages in contents.messages.items()
        if topic.startswith("sensor/")
    }
    if rig is not None and sensors and not sensors.keys() & rig.channels().keys():
        raise RecordingError(
            f"{rig_from or 'the rig'} describes {', '.join(rig.channels())}, in it are {', '.join(sensors)}",
            where=str(path),
            remedy="give the rig file that it was recorded with",
        )
    reports = [json.loads(data)["streams"] for data in contents.messages.get("health", Messages()).data]
    damage = list(stored.damage)
    if contents.damage:
        last = max((messages.host_ns[-1] for messages in contents.messages.values()), default=origin)
        ends = Fact(DamageFact.RECORDING_ENDS, Severity.NOTE, figures={"at_s": (last - origin) * 1e-9})
        damage += [*contents.damage, ends]
    return Recording(
        info,
        sensors,
        marks=read_marks(contents.messages.get("marks", Messages()).data, origin),
        damage=tuple(damage),
        origin_ns=origin,
        damaged_certificates=stored.damaged_certificates - set(given),
        reported=reports[-1] if reports else None,
        where=str(path),
        accept_expired=accept_expired,
    )
