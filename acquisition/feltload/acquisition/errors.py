"""Errors of the acquisition layer; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from enum import StrEnum

from feltload.core import FeltloadError, InputError


class DescriptionError(InputError):
    """A stream or rig description is wrong."""


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
