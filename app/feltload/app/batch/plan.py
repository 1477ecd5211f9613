"""Which recordings belong together, and how each measurement is made: from a folder or from a table."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from feltload.app.errors import UsageError
from feltload.app.files.provenance import file_sha256
from feltload.app.files.recordings import certificate_path
from feltload.app.jobs.measuring.request import MeasurementRequest
from feltload.app.jobs.study.file import read_study
from feltload.core import parse_toml, read_text

RECORDING = ".mcap"
_FILES: Final = ("machine", "rig")


@dataclass(frozen=True)
class Planned:
    """One measurement of a batch.

    Attributes
    ----------
    name : str
        What it is called in the dataset.
    request : MeasurementRequest
    labels : dict of str to str
        What the table says of it besides, such as operator and day.
    """

    name: str
    request: MeasurementRequest
    labels: Mapping[str, str] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """Digest of what is asked: the same for files of the same names and sizes with the same options, wherever."""
        request = self.request
        files = {"machine": request.machine, "rig": request.rig}
        asked = {
            **asdict(request),
            "recordings": [(path.name, _size(path)) for path in request.recordings],
            **{name: None if path is None else _digest(path) for name, path in files.items()},
            "certificates": [_digest(certificate_path(word)) for word in request.certificates],
            "labels": dict(self.labels),
        }
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()


class _Options(BaseModel):
    """How measurements are made; those of one measurement win over those of all."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    machine: str | None = None
    rig: str | None = None
    certificates: tuple[str, ...] | None = None
    side: Literal["left", "right"] | None = None
    accept_expired: bool | None = None
    unhelped: bool | None = None
    latitude: str | None = None
    height: str | None = None


class _Measurement(_Options):
    recordings: tuple[str, ...] = Field(min_length=1)
    name: str | None = Field(None, min_length=1)
    labels: dict[str, str] = {}


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    options: _Options = _Options()
    measurement: tuple[_Measurement, ...] = Field(min_length=1)


def plan_folder(folder: Path, common: MeasurementRequest, *, together: bool = False) -> list[Planned]:
    """Plan a folder and those in it: each recording by itself, or those of one folder together.

    Raises
    ------
    UsageError
        There is no recording in it.
    """
    paths = sorted(
        path
        for path in folder.rglob(f"*{RECORDING}")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )
    if not paths:
        raise UsageError(
            f"holds no recording (*{RECORDING})", where=str(folder), remedy="name a folder of recordings"
        )
    groups: dict[Path, list[Path]] = {}
    for path in paths:
        groups.setdefault(path.parent if together else path.with_suffix(""), []).append(path)
    return [
        Planned(_name(group, folder), replace(common, recordings=tuple(members)))
        for group, members in groups.items()
    ]


def _name(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix() if path != folder else folder.resolve().name


def plan_table(path: Path, common: MeasurementRequest) -> list[Planned]:
    """Plan what a table or a study file lists; options given with the command stand where the table has none.

    Raises
    ------
    UsageError
        It cannot be read, has an unknown key, or names two measurements alike.
    """
    text = read_text(path, UsageError, missing="no such folder or table")
    try:
        table = _Table.model_validate(
            parse_toml(text, UsageError, where=str(path), remedy="write plain TOML")
        )
    except ValidationError as error:
        first = error.errors()[0]
        raise UsageError(
            f"{'.'.join(map(str, first['loc']))}: {first['msg'][0].lower()}{first['msg'][1:]}",
            where=str(path),
            remedy="see docs/batch.md for the keys",
        ) from error
    folder = path.parent
    for_all = _with(common, table.options, folder)
    planned = [
        Planned(
            entry.name or Path(entry.recordings[0]).with_suffix("").as_posix(),
            replace(
                _with(for_all, entry, folder), recordings=tuple(folder / name for name in entry.recordings)
            ),
            entry.labels,
        )
        for entry in table.measurement
    ]
    _require_each_once((item.name for item in planned), path)
    return planned


def _plan_study(path: Path, common: MeasurementRequest) -> list[Planned]:
    """Recordings of a study file, each with its labels; its machine's is `machine_label` beside the machine's name."""
    planned = []
    for entry in read_study(path).entries:
        if entry.path.suffix != RECORDING:
            raise UsageError(
                f"{entry.path} is no recording", where=str(path), remedy="a batch measures recordings (.mcap)"
            )
        labels = {
            ("machine_label" if name == "machine" else name): text for name, text in entry.labels.items()
        }
        name = entry.path.with_suffix("").relative_to(path.parent).as_posix()
        planned.append(Planned(name, replace(common, recordings=(entry.path,)), labels))
    _require_each_once((item.name for item in planned), path)
    return planned


def _with(request: MeasurementRequest, options: _Options, folder: Path) -> MeasurementRequest:
    stated: dict[str, Any] = options.model_dump(
        exclude_none=True, include=set(_Options.model_fields), exclude={"certificates"}
    )
    for name in _FILES:
        if name in stated:
            stated[name] = folder / stated[name]
    if options.certificates is not None:
        stated["certificates"] = tuple(_certificate(word, folder) for word in options.certificates)
    return replace(request, **stated)


def _certificate(word: str, folder: Path) -> Path:
    """FILE or STREAM=FILE, the file in the table's folder."""
    stream, equals, name = word.partition("=")
    return Path(f"{stream}={folder / name}") if equals else folder / word


def _require_each_once(names: Iterable[str], where: Path) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise UsageError(
                f'two measurements are called "{name}"',
                where=str(where),
                remedy="give each a name of its own",
            )
        seen.add(name)


@cache
def _digest(path: Path) -> str:
    """Of a file that many measurements name."""
    try:
        return file_sha256(path)
    except OSError:
        return ""


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        # That it is missing is the reason its measurement will be listed with.
        return -1
