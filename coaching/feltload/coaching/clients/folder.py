"""A client's results over time: plain JSON in a folder that the coach owns."""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from feltload.coaching.capacity.file import PainRecord, pain_record
from feltload.coaching.clients.files import MARKER, ClientFiles, NotedFile, client_files, session_files
from feltload.coaching.errors import ClientFileError
from feltload.coaching.pain.marks import PainMark
from feltload.core import read_text, write_file

# No vowels, no letters and figures that look alike: a code cannot spell a word or be misread.
_ALPHABET = "BCDFGHJKMNPQRTVWXY346789"
Model = TypeVar("Model", bound=BaseModel)


class ClientPain(PainRecord):
    """A range of a machine that hurts this client, also after its mark was removed on purpose."""

    machine: str
    side: str | None = None


class ClientRecord(BaseModel):
    """The head of a client's folder."""

    model_config = ConfigDict(extra="forbid")

    code: str
    created: str
    note: str = ""
    files: list[NotedFile] = []
    painful: list[ClientPain] = []


class SessionRecord(BaseModel):
    """One kept result.

    `values` holds single figures with their unit in the name, `u95` the half-width of their 95 % band.
    """

    model_config = ConfigDict(extra="forbid")

    date: str
    kind: str
    machine: str
    side: str | None = None
    values: dict[str, float]
    u95: dict[str, float] = {}
    curve: dict[str, list[float]] = {}
    note: str = ""
    painful_deg: list[tuple[float, float]] = []
    """Ranges marked painful when it was measured."""


@dataclass(frozen=True)
class ClientFolder:
    """A folder with one client's results.

    Attributes
    ----------
    path : Path
    record : ClientRecord
    """

    path: Path
    record: ClientRecord

    @classmethod
    def create(cls, parent: Path, *, code: str | None = None, note: str = "") -> ClientFolder:
        """Create a folder named by a code; a fresh random one by default, so that no name is needed.

        Raises
        ------
        ClientFileError
            When the code is taken or cannot be a folder's name.
        """
        code = code or "".join(secrets.choice(_ALPHABET) for _ in range(6))
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", code):
            raise ClientFileError(f"{code!r} cannot be a code", remedy="use letters, figures, - and _ only")
        path = parent / code
        if os.path.lexists(path):
            raise ClientFileError("this client exists already", where=str(path), remedy="choose another code")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.mkdir(mode=0o700)
        except OSError as error:
            raise ClientFileError(
                f"cannot be created ({error.strerror})",
                where=str(path),
                remedy="choose a folder you may write to",
            ) from error
        record = ClientRecord(code=code, created=_now(), note=note)
        _write(path / MARKER, record.model_dump())
        return cls(path, record)

    @classmethod
    def open(cls, path: Path) -> ClientFolder:
        """Open a client's folder.

        Raises
        ------
        ClientFileError
            When it is not one, or is damaged.
        """
        marker = path / MARKER
        if not marker.is_file():
            raise ClientFileError(
                "not a client's folder (client.json is missing)",
                where=str(path),
                remedy="create one with: feltload client new",
            )
        return cls(path, _read(marker, ClientRecord))

    def keep(self, session: SessionRecord) -> Path:
        """Write one result beside the others; earlier ones are never touched."""
        stem = f"{session.date[:10]}-{session.kind}"
        number = 1
        while (path := self.path / f"{stem}-{number}.json").exists():
            number += 1
        _write(path, session.model_dump())
        return path

    def painful_on(self, machine: str, side: str | None = None) -> tuple[PainMark, ...]:
        """Marks of a machine that concern a side, history included; those of no side concern both."""
        return tuple(pain.mark for pain in self.record.painful if _concerns(pain, machine, side))

    def mark(self, machine: str, side: str | None, marks: Sequence[PainMark]) -> ClientFolder:
        """Put these marks, history included, in place of those of a machine and side; the others stay."""
        now = ClientFolder.open(self.path).record
        before = [pain for pain in now.painful if _concerns(pain, machine, side)]
        ours = [
            ClientPain(**pain_record(mark), machine=machine, side=_side_before(mark, before, side))
            for mark in marks
        ]
        others = [pain for pain in now.painful if not _concerns(pain, machine, side)]
        record = now.model_copy(update={"painful": [*others, *ours]})
        _write(self.path / MARKER, record.model_dump())
        return ClientFolder(self.path, record)

    def sessions(self) -> tuple[SessionRecord, ...]:
        """All kept results, oldest first."""
        records = [_read(path, SessionRecord) for path in session_files(self.path)]
        return tuple(sorted(records, key=lambda record: record.date))

    def note_file(self, path: Path, *, made: bool = True) -> ClientFolder:
        """Note a file elsewhere that holds this client's results, so that deleting the client finds it.

        Parameters
        ----------
        path : Path
        made : bool
            Whether it was written for this client. False for what results were computed from; where it was noted as
            made before, it stays so.
        """
        noted = NotedFile.of(path, made=made)
        now = ClientFolder.open(self.path)
        before = {file.path: file for file in now.record.files}
        if not made and before.get(noted.path, noted).made:
            return now
        return now._with_note(noted)

    def announce_file(self, path: Path) -> ClientFolder:
        """Note a file that is about to be written for this client, so that it is known however the writing ends.

        One that is replaced is known as it was until `note_file` says that the new one is whole.
        """
        noted = NotedFile.announced(path)
        now = ClientFolder.open(self.path)
        known = any(file.path == noted.path and file.sha256 for file in now.record.files)
        return now if known else now._with_note(noted)

    def _with_note(self, noted: NotedFile) -> ClientFolder:
        files = {**{file.path: file for file in self.record.files}, noted.path: noted}
        record = self.record.model_copy(update={"files": [*files.values()]})
        _write(self.path / MARKER, record.model_dump())
        return ClientFolder(self.path, record)

    def files(self) -> ClientFiles:
        """Every file that holds this client's results, here and elsewhere, and which of them deleting removes."""
        return client_files(self.path, self.record.files)

    def delete(self) -> ClientFiles:
        """Remove what was made for this client, here and elsewhere. There is no copy.

        Returns
        -------
        ClientFiles
            What was removed, and what was left; the folder stays when something in it was left.

        Raises
        ------
        ClientFileError
            When the folder is a link: what it leads to may belong to something else.
        """
        if self.path.is_symlink():
            raise ClientFileError(
                "is a link, and nothing was deleted",
                where=str(self.path),
                remedy=f"name the folder itself: {os.path.realpath(self.path)}",
            )
        files = self.files()
        for path in files.made:
            path.unlink(missing_ok=True)
        if not any(self.path.iterdir()):
            self.path.rmdir()
        return files


def _concerns(pain: ClientPain, machine: str, side: str | None) -> bool:
    return pain.machine == machine and (side is None or pain.side in (None, side))


def _side_before(mark: PainMark, before: Sequence[ClientPain], side: str | None) -> str | None:
    """The side that a mark had: one that concerns both goes on doing so when it is kept with those of one."""
    same = (
        pain.side
        for pain in before
        if pain.added == mark.added and pain.mark.covers((mark.low_rad, mark.high_rad))
    )
    return next(same, side)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _write(path: Path, content: Mapping[str, object]) -> None:
    # What a person can lift is between the coach and the client.
    write_file(path, json.dumps(content, indent=2, ensure_ascii=False), private=True)


def _read(path: Path, model: type[Model]) -> Model:
    text = read_text(path, ClientFileError, remedy="fix it, or remove the file")
    try:
        return model.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        raise ClientFileError(
            f"{key or 'the file'}: {first['msg']}", where=str(path), remedy="fix it, or remove the file"
        ) from None
