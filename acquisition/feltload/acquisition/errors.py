"""Errors of the acquisition layer, and the base that every layer's errors share.

FeltloadError
├── InputError            a file, key or value that a person gave
│   ├── DescriptionError  a stream or rig description
│   ├── QuantityError     "620(3) mm" that cannot be read
│   └── CertificateError  a certificate that is expired, damaged or of another sensor
├── RecordingError        a recording that cannot be read or written
└── LinkError             a port or peripheral; carries a `LinkReason`
"""

from __future__ import annotations

from enum import StrEnum


class FeltloadError(Exception):
    """Base of all errors that feltload raises on purpose.

    Parameters
    ----------
    what : str
        What is wrong, in one short sentence.
    where : str, optional
        The file, key, line or port it was found in.
    remedy : str, optional
        What to do about it.

    Notes
    -----
    ``str(error)`` is one line, ``where: what; remedy``, fit to print on standard error.
    """

    def __init__(self, what: str, *, where: str | None = None, remedy: str | None = None) -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        text = self.what if self.where is None else f"{self.where}: {self.what}"
        text = text if self.remedy is None else f"{text}; {self.remedy}"
        return " ".join(text.split())


class InputError(FeltloadError):
    """Something a person gave (file, key, value) cannot be used."""


class DescriptionError(InputError):
    """A stream or rig description is wrong."""


class QuantityError(InputError):
    """A quantity with unit and uncertainty cannot be read."""


class CertificateError(InputError):
    """A calibration certificate does not apply."""


class RecordingError(FeltloadError):
    """A recording cannot be read or written."""


class LinkReason(StrEnum):
    """Why a link failed, for callers that branch on it."""

    NOT_FOUND = "not-found"
    BUSY = "busy"
    PERMISSION = "permission"
    ADAPTER_OFF = "adapter-off"
    SERVICE_GONE = "service-gone"
    REFUSED = "refused"
    LOST = "lost"
    SILENT = "silent"
    UNSUPPORTED = "unsupported"


class LinkError(FeltloadError):
    """A sensor's link cannot be opened or was lost.

    Attributes
    ----------
    reason : LinkReason
        The cause, for callers that branch on it.
    """

    def __init__(
        self, what: str, *, reason: LinkReason, where: str | None = None, remedy: str | None = None
    ) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.reason = reason
