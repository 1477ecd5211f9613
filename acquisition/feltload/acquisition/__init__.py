"""Bytes from sensors to recordings on disk to streams in SI units."""

from __future__ import annotations

from feltload.acquisition.errors import (
    CertificateError,
    DescriptionError,
    FeltloadError,
    InputError,
    LinkError,
    LinkReason,
    QuantityError,
    RecordingError,
)

__all__ = [
    "CertificateError",
    "DescriptionError",
    "FeltloadError",
    "InputError",
    "LinkError",
    "LinkReason",
    "QuantityError",
    "RecordingError",
]
