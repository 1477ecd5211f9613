"""Files that a person names on the command line, read and checked before anything else happens."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.acquisition.certificate import AnyCertificate, parse_certificate
from feltload.acquisition.errors import CertificateError
from feltload.acquisition.quantities import parse_quantity
from feltload.acquisition.schema import RigDescription, StreamDescription
from feltload.calibration.gravity import Gravity, local_gravity
from feltload.calibration.machine import load_machine


def read_machine_text(path: Path) -> str:
    """Text of a machine file that has been found usable.

    Raises
    ------
    MachineError
        Names the file, the key and the remedy.
    """
    load_machine(path)
    return path.read_text(encoding="utf-8")


def read_certificates(paths: Sequence[Path]) -> dict[str, str]:
    """Texts of certificates by their file's name without ending.

    Raises
    ------
    CertificateError
        If one is missing or not a certificate.
    """
    texts = {}
    for path in paths:
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise CertificateError(
                "cannot be read", where=str(path), remedy="name a certificate that `feltload calibrate` wrote"
            ) from error
        parse_certificate(text, where=str(path))
        texts[path.stem] = text
    return texts


def assign_certificates(texts: dict[str, str], rig: RigDescription) -> dict[str, str]:
    """Give each certificate to the stream it belongs to.

    A certificate belongs to the stream that names it, or is named like it, or has its serial number, or is
    the only one of its kind.

    Parameters
    ----------
    texts : dict
        Certificates by their file's name without ending.
    rig : RigDescription
        The sensors.

    Returns
    -------
    dict
        The same texts under the names by which the streams look for them.

    Raises
    ------
    CertificateError
        If a certificate belongs to no stream or may belong to several, or a stream gets two.
    """
    assigned: dict[str, str] = {}
    for name, text in texts.items():
        stream = _stream_of(name, parse_certificate(text, where=name), rig)
        key = stream.certificate or stream.name
        if key in assigned:
            raise CertificateError(
                f"two certificates for the stream {stream.name}",
                where="--certificate",
                remedy="name the newest one only",
            )
        assigned[key] = text
    return assigned


def _stream_of(name: str, certificate: AnyCertificate, rig: RigDescription) -> StreamDescription:
    kind = [stream for stream in rig.streams if stream.kind == certificate.kind]
    named = [stream for stream in kind if name in (stream.certificate, stream.name)]
    same_serial = [stream for stream in kind if stream.serial == certificate.serial]
    found = named or same_serial or kind
    if len(found) == 1:
        return found[0]
    streams = ", ".join(stream.name for stream in kind)
    raise CertificateError(
        f"there are several {certificate.kind} sensors ({streams}), and which one it is for is not said"
        if kind
        else f"there is no {certificate.kind} sensor in the recording",
        where=f"certificate {name}",
        remedy="name the file like its stream, such as force.json" if kind else "leave it out",
    )


def place_gravity(latitude: str | None, height: str | None) -> Gravity | None:
    """Local gravity at the place named on the command line; None if none is named.

    Raises
    ------
    InputError
        If a quantity cannot be read or the place is not on Earth's land.
    """
    if latitude is None and height is None:
        return None
    latitude_rad = None if latitude is None else parse_quantity(latitude, "angle", where="--latitude").value
    height_m = None if height is None else parse_quantity(height, "length", where="--height").value
    return local_gravity(latitude_rad, height_m)
