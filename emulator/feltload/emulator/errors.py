"""Errors of the emulated world.

FeltloadError
└── EmulatorError   pseudo terminals that are missing, or that nobody reads
"""

from __future__ import annotations

from feltload.core import FeltloadError


class EmulatorError(FeltloadError):
    """The emulated boards cannot send."""
