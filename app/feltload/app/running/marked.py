"""Marks and errors of a recording that runs, as they cross between processes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from feltload.app.errors import AppError
from feltload.core import FeltloadError


@dataclass(frozen=True)
class Marked:
    """A mark was set.

    Attributes
    ----------
    kind, text : str
    host_ns : int
        Host time at which it begins.
    until_ns : int or None
        Host time at which it ends; None for a moment.
    """

    kind: str
    host_ns: int
    text: str = ""
    until_ns: int | None = None
    type: Literal["marked"] = "marked"


@dataclass(frozen=True)
class Trouble:
    """An error, as it crosses between processes.

    Attributes
    ----------
    what, where, remedy : str
        As in `FeltloadError`; empty where there is none.
    """

    what: str
    where: str = ""
    remedy: str = ""

    @classmethod
    def of(cls, error: Exception) -> Trouble:
        """The same error."""
        if isinstance(error, FeltloadError):
            return cls(error.what, error.where or "", error.remedy or "")
        return cls(f"{type(error).__name__}: {error}", "recorder", "the file holds what was recorded before")

    def error(self) -> AppError:
        """As an error again, whose text is one line."""
        return AppError(self.what, where=self.where or None, remedy=self.remedy or None)
