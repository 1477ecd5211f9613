"""Errors of the emulated world; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from feltload.core import FeltloadError


class EmulatorError(FeltloadError):
    """The emulated boards cannot send: no pseudo terminals here, or nobody reads them."""
