"""Which sensor a certificate belongs to: by the stream it is given for, its serial number, its name, its kind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from feltload.acquisition.certificates.certificate import AnyCertificate, parse_certificate
from feltload.acquisition.errors import CertificateError

__all__ = ["GivenCertificate", "Sensor", "SensorName", "assign_certificates"]

OPTION = "--certificate"


class Sensor(Protocol):
    """What assignment asks of a stream; a `StreamDescription` has it."""

    @property
    def name(self) -> str:
        """Name of the stream."""

    @property
    def kind(self) -> str:
        """Either "force" or "inertial"."""

    @property
    def serial(self) -> str | None:
        """Serial number, if the rig file states it."""

    @property
    def certificate(self) -> str | None:
        """Name under which its certificate is kept, if not that of the stream."""


@dataclass(frozen=True)
class SensorName:
    """A sensor of which no more is known, as of a logger's file."""

    name: str
    kind: str
    serial: str | None = None
    certificate: str | None = None


@dataclass(frozen=True)
class GivenCertificate:
    """A certificate as a person gave it.

    Parameters
    ----------
    text : str
        Its JSON.
    name : str
        Name of its file without ending.
    stream : str or None
        The stream it was given for by name.
    where : str
        Its file, for messages.
    """

    text: str
    name: str
    stream: str | None = None
    where: str = ""


def assign_certificates(given: Iterable[GivenCertificate], sensors: Sequence[Sensor]) -> dict[str, str]:
    """Give each certificate to the sensor it belongs to.

    That is the stream it was given for; else the one with its serial number; else, among those that state no
    serial number, the one named like its file, or the only one of its kind.

    Parameters
    ----------
    given : iterable of GivenCertificate
    sensors : sequence of Sensor
        Such as ``rig.streams``.

    Returns
    -------
    dict
        Texts under the names by which the streams look for them.

    Raises
    ------
    CertificateError
        If a certificate belongs to no sensor or may belong to several, is of another sensor than the one it was
        given for, or a sensor gets two.
    """
    assigned: dict[str, str] = {}
    for item in given:
        certificate = parse_certificate(item.text, where=item.where or item.name)
        sensor = _sensor_of(item, certificate, sensors)
        certificate.require_valid(serial=sensor.serial, where=item.where or item.name)
        key = sensor.certificate or sensor.name
        if key in assigned:
            raise CertificateError(
                f"two certificates for the stream {sensor.name}",
                where=OPTION,
                remedy="name the newest one only",
            )
        assigned[key] = item.text
    return assigned


def _sensor_of(item: GivenCertificate, certificate: AnyCertificate, sensors: Sequence[Sensor]) -> Sensor:
    where = f"{OPTION} {item.where or item.name}"
    kind = [sensor for sensor in sensors if sensor.kind == certificate.kind]
    listed = ", ".join(_said(sensor) for sensor in sensors)
    if item.stream is not None:
        chosen = next((sensor for sensor in sensors if sensor.name == item.stream), None)
        if chosen is None:
            raise CertificateError(
                f'there is no stream "{item.stream}"', where=where, remedy=f"the streams are {listed}"
            )
        if chosen not in kind:
            raise CertificateError(
                f"the certificate is for a {certificate.kind} sensor, {chosen.name} is {chosen.kind}",
                where=where,
                remedy="give the certificate of this sensor",
            )
        return chosen
    same = [sensor for sensor in kind if _key(sensor.serial) == _key(certificate.serial)]
    unstated = [sensor for sensor in kind if sensor.serial is None]
    named = [sensor for sensor in unstated if item.name in (sensor.certificate, sensor.name)]
    suited = same or named or unstated
    if len(suited) == 1:
        return suited[0]
    if not kind:
        raise CertificateError(
            f"there is no {certificate.kind} sensor in the recording", where=where, remedy="leave it out"
        )
    if not suited:
        raise CertificateError(
            f"the certificate is for serial {certificate.serial}, and no {certificate.kind} sensor has it",
            where=where,
            remedy=f"the streams are {listed}; give the certificate of one of them, or correct the rig file",
        )
    raise CertificateError(
        f"there are several {certificate.kind} sensors ({', '.join(sensor.name for sensor in suited)}), "
        "and which one it is for is not stated",
        where=where,
        remedy=f"write {OPTION} {suited[0].name}=FILE, or state serial numbers in the rig file",
    )


def _key(serial: str | None) -> str | None:
    return None if serial is None else serial.strip().casefold()


def _said(sensor: Sensor) -> str:
    return sensor.name if sensor.serial is None else f"{sensor.name} (serial {sensor.serial})"
