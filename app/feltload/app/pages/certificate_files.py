"""A certificate on disk: JSON for programs, and its page for people beside it."""

from __future__ import annotations

from pathlib import Path

from feltload.acquisition import AnyCertificate
from feltload.app.files.outputs import claim_file
from feltload.app.pages.certificate.page import certificate_page
from feltload.core import write_file


def claim_certificate(out: Path, *, overwrite: bool) -> None:
    """Make sure that the certificate and its page may be written."""
    claim_file(out, overwrite=overwrite)
    claim_file(_page(out), overwrite=overwrite)


def write_certificate(out: Path, certificate: AnyCertificate) -> Path:
    """Write both; return the page's path."""
    page = certificate_page(certificate)
    write_file(out, certificate.model_dump_json(indent=1) + "\n")
    write_file(_page(out), page)
    return _page(out)


def _page(out: Path) -> Path:
    return out.with_suffix(".html")
