"""Guard of the files that a command is about to write."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path

from feltload.app.errors import OutputExistsError, UsageError

DRAWING_ENDINGS = (".svg", ".png", ".pdf")
"""Endings of a drawing's name; each draws in that form."""

_MADE: ContextVar[list[Path] | None] = ContextVar("made_directories", default=None)


@contextmanager
def no_empty_directories() -> Iterator[None]:
    """Remove the directories that were made in this block for files which then were not written."""
    made: list[Path] = []
    token = _MADE.set(made)
    try:
        yield
    finally:
        _MADE.reset(token)
        for directory in reversed(made):
            # One that holds something is kept: rmdir refuses it.
            with suppress(OSError):
                directory.rmdir()


def claim_file(path: Path, *, overwrite: bool, private: bool = False) -> Path:
    """Make sure that `path` may be written, and that its directory exists; a `private` one is made for its owner alone.

    Raises
    ------
    OutputExistsError
        If it exists and `overwrite` is false.
    UsageError
        If it is a directory or its directory cannot be made.
    """
    if path.is_dir():
        raise UsageError("is a directory, a file is to be written", where=str(path), remedy="name a file")
    if path.exists() and not overwrite:
        raise OutputExistsError(path)
    _make_directory(path.parent, private=private)
    return path


@contextmanager
def claimed_file(path: Path, *, overwrite: bool, private: bool = False) -> Iterator[Path]:
    """`claim_file` for a file that is written over minutes: until the block ends it is nobody else's.

    A hidden file beside it holds the claim; it ends with the process, however that ends.

    Raises
    ------
    UsageError
        Another command is writing it now; otherwise as `claim_file`.
    """
    from filelock import FileLock, Timeout

    claim_file(path, overwrite=overwrite, private=private)
    real = Path(os.path.realpath(path))
    lock = FileLock(real.with_name(f".{real.name}.lock"))
    try:
        lock.acquire(blocking=False)
    except Timeout:
        raise UsageError(
            "another command is writing it now", where=str(path), remedy="choose another --out"
        ) from None
    try:
        # The other one may have ended in between.
        yield claim_file(path, overwrite=overwrite, private=private)
    finally:
        # Where an open file cannot be removed, releasing removes it.
        with suppress(OSError):
            Path(lock.lock_file).unlink()
        lock.release()


def claim_page(path: Path, *, overwrite: bool, private: bool = False) -> Path:
    """`claim_file` for a page, which a browser opens by the ending of its name.

    Raises
    ------
    UsageError
        If it has another ending; otherwise as `claim_file`.
    """
    if path.suffix.lower() not in (".html", ".htm"):
        raise UsageError(
            "is not an .html file name",
            where=str(path),
            remedy="give one that ends in .html, such as page.html",
        )
    return claim_file(path, overwrite=overwrite, private=private)


def require_ending(path: Path, endings: Sequence[str], *, where: str, what: str) -> Path:
    """The path, whose name ends in one of `endings`.

    Raises
    ------
    UsageError
        It has another ending; `what` says which kind of file it should be.
    """
    if path.suffix.lower() not in endings:
        raise UsageError(
            f'"{path.suffix}" is no kind of {what}',
            where=where,
            remedy=f"end the name in {', '.join(endings)}",
        )
    return path


def claim_directory(
    path: Path, names: Iterable[str], *, overwrite: bool, make: bool = True, private: bool = False
) -> Path:
    """Make the directory `path`, in which the files `names` may be written; without `make` only look.

    A `private` one is made for its owner alone.

    Raises
    ------
    OutputExistsError
        If one of `names` is there already and `overwrite` is false.
    UsageError
        If the directory cannot be made.
    """
    if path.exists() and not path.is_dir():
        remedy = "choose another --out" if make else "name the directory that `feltload profile` wrote"
        raise UsageError("is a file, a directory is needed", where=str(path), remedy=remedy)
    for name in names:
        if (path / name).exists() and not overwrite:
            raise OutputExistsError(path / name)
    if make:
        _make_directory(path, private=private)
    return path


def _make_directory(path: Path, *, private: bool = False) -> None:
    made = _MADE.get()
    if made is not None:
        made += [each for each in (*reversed(path.parents), path) if not each.exists()]
    try:
        path.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(
            f"cannot be made ({error.strerror})", where=str(path), remedy="choose another --out"
        ) from error
