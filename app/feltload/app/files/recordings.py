"""The one door through which commands read a recording, and through which they take certificates.

A certificate is compared with the readings in it before anything is computed with it, wherever it comes from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from feltload.acquisition import (
    CertificateError,
    GivenCertificate,
    Recording,
    assign_certificates,
    load_rig,
    parse_certificate,
    read_recording,
)
from feltload.calibration import check_certificate
from feltload.core import Fact, read_text, unique_facts


def open_recording(
    path: Path,
    *,
    rig: Path | None = None,
    certificates: Sequence[GivenCertificate] = (),
    accept_expired: bool = False,
) -> Recording:
    """Read a recording.

    Parameters
    ----------
    path : Path
    rig : Path, optional
        Rig file to use in place of the description kept in it; its `damage` then says so.
    certificates : sequence of GivenCertificate
        They add to or replace those in it.
    accept_expired : bool
        Use certificates past their expiry.

    Raises
    ------
    RecordingError, DescriptionError
        As reading raises.
    CertificateError
        A certificate contradicts itself, or belongs to none of its sensors.
    """
    described = None if rig is None else load_rig(rig)

    def read(assigned: Mapping[str, str] | None) -> Recording:
        return read_recording(
            path,
            certificates=assigned,
            accept_expired=accept_expired,
            rig=described,
            rig_from="" if rig is None else str(rig),
        )

    recording = read(None)
    if certificates:
        # Which sensor a certificate belongs to is known only once the recording has been opened.
        recording = read(assign_certificates(certificates, recording.info.rig.streams))
    certificate_facts(recording)
    return recording


def certificate_facts(recording: Recording) -> tuple[Fact, ...]:
    """What the certificates of a recording's sensors rest on, of kinds `CertificateFact`.

    Raises
    ------
    CertificateError
        One of them contradicts itself.
    """
    found: list[Fact] = []
    for key in dict.fromkeys(stream.certificate or stream.name for stream in recording.info.rig.streams):
        text = recording.info.certificates.get(key)
        if text is not None:
            found += facts_of_certificate(text, f"{recording.where}: certificate {key}")
    return unique_facts(found)


def facts_of_certificate(text: str, where: str) -> tuple[Fact, ...]:
    """What a certificate rests on.

    Raises
    ------
    CertificateError
        It cannot be used, or contradicts itself.
    """
    try:
        return _facts_of_text(text)
    except CertificateError:
        return check_certificate(parse_certificate(text, where=where), where=where)


@lru_cache(maxsize=64)
def _facts_of_text(text: str) -> tuple[Fact, ...]:
    """Of a certificate that many recordings hold, found once."""
    return check_certificate(parse_certificate(text, where=""), where="")


def read_certificates(words: Sequence[Path]) -> list[GivenCertificate]:
    """Certificates named on the command line, as FILE or as STREAM=FILE.

    Raises
    ------
    CertificateError
        If one is missing, not a certificate, or contradicts itself.
    """
    given = []
    for word in words:
        path = certificate_path(word)
        stream = str(word).partition("=")[0]
        text = read_text(path, CertificateError, remedy="name a certificate that `feltload calibrate` wrote")
        facts_of_certificate(text, str(path))
        given.append(GivenCertificate(text, path.stem, stream if path is not word else None, str(path)))
    return given


def certificate_path(word: Path) -> Path:
    """File of a certificate named on the command line, as FILE or as STREAM=FILE."""
    _, equals, rest = str(word).partition("=")
    # A file may have an equals sign in its name.
    return Path(rest) if equals and not word.exists() else word


def facts_of_given(given: Sequence[GivenCertificate]) -> tuple[Fact, ...]:
    """What certificates named on the command line rest on."""
    return unique_facts(fact for item in given for fact in facts_of_certificate(item.text, item.where))
