"""Errors of the command line and the report; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from pathlib import Path

from feltload.core import Fact, FeltloadError


class AppError(FeltloadError):
    """Base of the errors raised by the command line itself."""


class UsageError(AppError):
    """The command line asks for something that cannot be done."""


class DamagedInputError(AppError):
    """Something cannot be computed from recordings that are damaged: what is missing may be what was lost.

    Parameters
    ----------
    cause : FeltloadError
        What cannot be computed.
    damage : tuple of Fact
        Damage of the recordings, which each fact names as its session.
    """

    def __init__(self, cause: FeltloadError, damage: tuple[Fact, ...]) -> None:
        super().__init__(cause.what, where=cause.where, remedy=cause.remedy)
        self.damage = damage


class OutputExistsError(AppError):
    """An output is already there and overwriting was not asked for.

    Parameters
    ----------
    path : Path
        The existing file or directory.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(
            "already exists and is left as it is",
            where=str(path),
            remedy="choose another name or add --force-overwrite",
        )
        self.path = path
