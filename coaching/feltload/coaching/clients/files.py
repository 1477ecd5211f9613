"""Which files hold a client's results, and which of them may be deleted: those made for the client, unchanged."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from feltload.coaching.clients.facts import ClientFileFact
from feltload.core import Fact, Severity

MARKER = "client.json"
"""Head of a client's folder."""
_SESSION = re.compile(r"\d{4}-\d\d-\d\d-[a-z-]+-\d+\.json")
_PART = re.compile(r"\.(?P<name>.+)\.[0-9a-f]{8}\.part")
"""What a killed `feltload.core.write_file` leaves behind."""


class NotedFile(BaseModel):
    """A file outside the kept results that holds something of the client.

    `made` tells whether it was written for the client; the other ones are what results were computed from. `sha256` is
    empty while it is being written.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    path: str
    sha256: str
    made: bool

    @classmethod
    def of(cls, path: Path, *, made: bool) -> NotedFile:
        """The file as it is now."""
        real = Path(os.path.realpath(path))
        return cls(path=str(real), sha256=_digest(real), made=made)

    @classmethod
    def announced(cls, path: Path) -> NotedFile:
        """A file that is about to be written for the client."""
        return cls(path=os.path.realpath(path), sha256="", made=True)

    @property
    def never_begun(self) -> bool:
        """Whether it was announced, and nothing came of it."""
        return not self.sha256 and not os.path.lexists(self.path)


@dataclass(frozen=True)
class ClientFiles:
    """Files of one client.

    Attributes
    ----------
    made : tuple of Path
        Written for the client and unchanged; the head of the folder last.
    left : tuple of Fact
        Of kinds `ClientFileFact`: what is not to be touched.
    """

    made: tuple[Path, ...]
    left: tuple[Fact, ...]


def session_files(folder: Path) -> Iterator[Path]:
    """Kept results, by the names that they are given; never a link."""
    for path in sorted(folder.iterdir()):
        if _SESSION.fullmatch(path.name) and path.is_file() and not path.is_symlink():
            yield path


def client_files(folder: Path, noted: Iterable[NotedFile]) -> ClientFiles:
    """Sort out what a client's folder holds, and the files noted in it."""
    made: list[Path] = []
    left: list[Fact] = []
    for file in noted:
        path = Path(file.path)
        why = None if file.never_begun else _why_left(file)
        if why is not None:
            left.append(_left(why, path))
        elif not file.never_begun:
            made.append(path)
        if file.made and path.parent.is_dir():
            beside = sorted(path.parent.iterdir())
            made += [part for part in beside if _is_part(part, {path.name})]
            left += [_left(ClientFileFact.UNFINISHED, each) for each in beside if _is_unfinished(each, path)]
    sessions = set(session_files(folder))
    seen = {*made, *(Path(str(fact.figures["path"])) for fact in left)}
    names = {MARKER, *(path.name for path in sessions)}
    real = Path(os.path.realpath(folder))
    for path in sorted(folder.iterdir()):
        if path in sessions or _is_part(path, names):
            made.append(path)
        elif path.name != MARKER and real / path.name not in seen:
            left.append(_left(ClientFileFact.NOT_OURS, path))
    return ClientFiles((*dict.fromkeys(made), folder / MARKER), tuple(left))


def _why_left(file: NotedFile) -> ClientFileFact | None:
    path = Path(file.path)
    if not os.path.lexists(path):
        return ClientFileFact.GONE
    if os.path.realpath(path) != str(path):
        return ClientFileFact.LINK
    if not file.made:
        return ClientFileFact.SOURCE
    if not file.sha256:
        return ClientFileFact.UNFINISHED
    return None if path.is_file() and _digest(path) == file.sha256 else ClientFileFact.CHANGED


def _is_part(path: Path, names: set[str]) -> bool:
    match = _PART.fullmatch(path.name)
    return (
        match is not None
        and path.is_file()
        and not path.is_symlink()
        and (match["name"] in names or (MARKER in names and _SESSION.fullmatch(match["name"]) is not None))
    )


def _is_unfinished(path: Path, target: Path) -> bool:
    """Whether a killed recorder left it beside the recording that it was to replace."""
    name = rf"{re.escape(target.stem)}\.unfinished(-\d+)?{re.escape(target.suffix)}"
    return re.fullmatch(name, path.name) is not None


def _left(kind: ClientFileFact, path: Path) -> Fact:
    return Fact(kind, Severity.NOTE, figures={"path": str(path)})


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
