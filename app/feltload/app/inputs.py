"""Files that a person names on the command line, read and checked before anything else happens."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.acquisition.certificate import parse_certificate
from feltload.acquisition.errors import CertificateError
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
