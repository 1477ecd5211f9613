"""A certificate on disk: JSON for programs, and its page for people beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from feltload.acquisition import AnyCertificate, certificate_json, parse_certificate, signed_text
from feltload.app.files.outputs import claim_file
from feltload.app.pages.certificate.page import certificate_page
from feltload.core import write_file

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


def claim_certificate(out: Path, *, overwrite: bool) -> None:
    """Make sure that the certificate and its page may be written."""
    claim_file(out, overwrite=overwrite)
    claim_file(_page(out), overwrite=overwrite)


def write_certificate(
    out: Path, certificate: AnyCertificate, *, key: Ed25519PrivateKey | None = None
) -> tuple[AnyCertificate, Path]:
    """Write both, signed where a key is given.

    Returns
    -------
    certificate : ForceCertificate or InertialCertificate
        As it was written.
    page : Path
    """
    text = certificate_json(certificate)
    if key is not None:
        text = signed_text(text, key)
        certificate = parse_certificate(text, where=str(out))
    page = certificate_page(certificate)
    write_file(out, text)
    write_file(_page(out), page)
    return certificate, _page(out)


def _page(out: Path) -> Path:
    return out.with_suffix(".html")
