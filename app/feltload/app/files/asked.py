"""How results were asked for, kept beside them: the command, its options, and what it was given, by digest."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from inspect import BoundArguments
from pathlib import Path
from typing import Final

from pydantic import BaseModel, ConfigDict, ValidationError

from feltload.app.errors import AppError
from feltload.app.files.provenance import (
    file_sha256,
    library_versions,
    software_revision,
    software_version,
)
from feltload.app.options import KEEPING
from feltload.core import read_text, write_file

_NOT_ASKED: Final = {"out", "result", "force_overwrite", "common"}
_TEXTS: Final = {".toml", ".csv", ".json"}
_LARGEST_TEXT: Final = 500_000


class GivenFile(BaseModel):
    """A file that a command was given: its name, the digest of its bytes, and its text where it is a short one.

    A folder has no digest: what is in it is not the command's alone.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    sha256: str | None = None
    text: str | None = None


class AskedWord(BaseModel):
    """One option and its value; files in it stand as ``{0}``, ``{1}`` for their place among the files given."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    option: str | None = None
    value: str | None = None


class AskedCommand(BaseModel):
    """A command as it was asked for, and the software that answered.

    Attributes
    ----------
    command : str
    words : tuple of AskedWord
        Without the folder of the results.
    given : tuple of GivenFile
    feltload, revision : str
        Version, and the commit that it was built from.
    libraries : dict of str to str
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    command: str
    words: tuple[AskedWord, ...]
    given: tuple[GivenFile, ...]
    feltload: str
    revision: str = ""
    libraries: dict[str, str] = {}


def file_name(command: str) -> str:
    """Name of the file that keeps a command."""
    return f"command-{command}.json"


def keep_command(command: str, bound: BoundArguments) -> None:
    """Write how it was asked for beside the results, where that is a command whose words are kept."""
    folder = bound.arguments.get(KEEPING.get(command, ""))
    if not isinstance(folder, Path) or not folder.is_dir():
        return
    given: list[GivenFile] = []
    kept = AskedCommand(
        command=command,
        words=tuple(_words(bound, given)),
        given=tuple(given),
        feltload=software_version(),
        revision=software_revision(),
        libraries=library_versions(),
    )
    write_file(folder / file_name(command), kept.model_dump_json(indent=1, exclude_defaults=True) + "\n")


def load_commands(folder: Path) -> dict[str, AskedCommand]:
    """Every command whose words a folder keeps, by its name.

    Raises
    ------
    AppError
        One cannot be read.
    """
    found = {}
    for command in KEEPING:
        path = folder / file_name(command)
        if path.is_file():
            try:
                found[command] = AskedCommand.model_validate_json(read_text(path, AppError))
            except ValidationError as error:
                raise AppError(
                    f"cannot be read ({error.errors()[0]['msg']})",
                    where=str(path),
                    remedy=f"run `feltload {command}` again",
                ) from error
    return found


def _words(bound: BoundArguments, given: list[GivenFile]) -> Iterator[AskedWord]:
    for name, value in bound.arguments.items():
        if name in _NOT_ASKED:
            continue
        positional = bound.signature.parameters[name].kind is inspect.Parameter.POSITIONAL_ONLY
        if is_dataclass(value):
            for each in fields(value):
                yield from _word(each.name, getattr(value, each.name), given)
        else:
            yield from _word(None if positional else name, value, given)


def _word(name: str | None, value: object, given: list[GivenFile]) -> Iterator[AskedWord]:
    option = None if name is None else f"--{name.replace('_', '-')}"
    if isinstance(value, list | tuple):
        for each in value:
            yield from _word(name, each, given)
    elif value is True:
        yield AskedWord(option=option)
    elif value is not None and value is not False:
        # A file may stand inside a phrase or behind a sensor's name.
        pieces = [value] if isinstance(value, Path) else re.split(r"([\s=]+)", str(value))
        yield AskedWord(option=option, value="".join(_piece(piece, given) for piece in pieces))


def _piece(piece: Path | str, given: list[GivenFile]) -> str:
    path = Path(piece)
    if not str(piece) or not _is_there(path) or (path.is_dir() and isinstance(piece, str)):
        return str(piece).replace("{", "{{").replace("}", "}}")
    given.append(_given(path))
    return f"{{{len(given) - 1}}}"


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        # No name that a file could have.
        return False


def _given(path: Path) -> GivenFile:
    if path.is_dir():
        return GivenFile(name=path.name)
    short = path.suffix.lower() in _TEXTS and path.stat().st_size <= _LARGEST_TEXT
    return GivenFile(
        name=path.name, sha256=file_sha256(path), text=read_text(path, AppError) if short else None
    )
