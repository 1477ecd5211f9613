"""What the working folder holds of earlier measurements, by what it is: machines, capacities, recordings, sheets."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from feltload.acquisition import RecordingInfo, read_recording
from feltload.app.files.provenance import load_provenance
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.live.setup.running import recordings_that_run
from feltload.app.text.numbers import load_text
from feltload.coaching import ClientFolder, capacity_from_json
from feltload.core import FeltloadError

SHEET = "sheet-"
CAPACITY = "-capacity.json"
MOST = 40
"""Files of a kind that are looked into, the newest first."""

Found = TypeVar("Found")


@dataclass(frozen=True)
class MachineHere:
    """A measured machine: folder, name, loads, day of its newest recording, the recordings behind it, and the arm."""

    name: str
    machine: str
    loads: tuple[str, ...]
    day: str
    invented: bool
    sources: tuple[str, ...]
    side: str | None = None


@dataclass(frozen=True)
class StrengthHere:
    """What a client can produce: file, machine, the client's code (empty for none), day, side."""

    name: str
    machine: str
    client: str
    day: str
    side: str | None


@dataclass(frozen=True)
class RecordingHere:
    """A closed recording: file, kind, machine, load, client's code, day, whether it has a result, and the arm."""

    name: str
    kind: str
    machine: str
    load: str
    client: str
    day: str
    is_used: bool
    side: str | None = None


@dataclass(frozen=True)
class SheetHere:
    """A client's sheet: file, client's code (empty for none), day."""

    name: str
    client: str
    day: str


@dataclass(frozen=True)
class Contents:
    """Everything of earlier measurements, the newest of each first."""

    machines: tuple[MachineHere, ...] = ()
    strengths: tuple[StrengthHere, ...] = ()
    recordings: tuple[RecordingHere, ...] = ()
    sheets: tuple[SheetHere, ...] = ()

    @property
    def unused(self) -> tuple[RecordingHere, ...]:
        """Recordings that nothing was made of yet, as after a crash."""
        return tuple(one for one in self.recordings if not one.is_used)

    def result_for(self, recording: RecordingHere) -> str:
        """The newest result of the machine, and of the arm, that a recording is of; empty where there is none."""
        of_machine = [one for one in self.machines if one.machine == recording.machine]
        suits = [one for one in of_machine if one.side == recording.side] or [
            one for one in of_machine if one.side is None
        ]
        return suits[0].name if suits else ""

    def helped_sets(self, machine: str) -> tuple[RecordingHere, ...]:
        """Helped sets on a machine."""
        return tuple(one for one in self.recordings if one.kind == "helped" and one.machine == machine)


def measured_machines(folder: WorkingFolder) -> tuple[MachineHere, ...]:
    """Results of the folder."""
    return tuple(_each(_newest(folder.path / name for name in folder.results()), _machine))


def strengths(folder: WorkingFolder) -> tuple[StrengthHere, ...]:
    """Capacities in the folder."""
    clients = _clients(folder)

    def strength(path: Path) -> StrengthHere:
        curve, machine = capacity_from_json(path)
        return StrengthHere(path.name, machine, clients.get(path.resolve(), ""), _day(path), curve.side)

    return tuple(_each(_newest(folder.path.glob("*.json")), strength))


def look_into(folder: WorkingFolder) -> Contents:
    """Look at what lies directly in the folder; recordings that are being written now are left out."""
    growing = {running.recording for running in recordings_that_run()}
    clients = _clients(folder)
    results = _each([folder.path / name for name in folder.results()], load_provenance)
    used = {source.name for made in results for source in made.recordings}
    recordings = [path for path in _newest(folder.path.glob("*.mcap")) if path not in growing]

    def recording(path: Path) -> RecordingHere:
        info = _info(path, path.stat().st_mtime_ns)
        kind = info.kind or "machine"
        is_used = path.name in used if kind == "machine" else capacity_name(path).exists() or kind == "helped"
        load = "" if info.load_kg is None else load_text(info.load_kg)
        client = clients.get(path.resolve(), "")
        return RecordingHere(
            path.name,
            kind,
            _name_in(info.machine_toml),
            load,
            client,
            info.started_utc[:10],
            is_used,
            info.side,
        )

    return Contents(
        measured_machines(folder),
        strengths(folder),
        tuple(_each(recordings, recording)),
        tuple(
            SheetHere(path.name, clients.get(path.resolve(), ""), _day(path))
            for path in _newest(folder.path.glob(f"{SHEET}*.html"))
        ),
    )


def capacity_name(recording: Path) -> Path:
    """Where the capacity of a recording of holds goes: beside it."""
    return recording.with_name(f"{recording.stem}{CAPACITY}")


def machine_of(result: Path) -> str:
    """Name of the machine that a result is of; empty where it says none."""
    return _name_in(load_provenance(result).machine_toml)


def _machine(path: Path) -> MachineHere:
    made = load_provenance(path)
    loads = sorted({source.load_kg for source in made.recordings})
    day = max((source.started_utc[:10] for source in made.recordings), default="")
    return MachineHere(
        path.name,
        _name_in(made.machine_toml) or path.name,
        tuple(load_text(load) for load in loads),
        day or _day(path),
        made.invented,
        tuple(source.name for source in made.recordings),
        None if made.options is None else made.options.side,
    )


def _clients(folder: WorkingFolder) -> dict[Path, str]:
    """Whose each file is, as the clients' folders note it."""
    whose: dict[Path, str] = {}
    for client in _each([folder.path / code for code in folder.clients()], ClientFolder.open):
        for noted in client.record.files:
            whose[Path(noted.path).resolve()] = client.record.code
    return whose


@lru_cache(maxsize=4 * MOST)
def _info(path: Path, _changed_ns: int) -> RecordingInfo:
    return read_recording(path).info


def _name_in(machine_toml: str | None) -> str:
    try:
        return str(tomllib.loads(machine_toml or "").get("name", ""))
    except tomllib.TOMLDecodeError:
        return ""


def _newest(paths: Iterable[Path]) -> list[Path]:
    return sorted((path for path in paths if path.exists()), key=lambda path: -path.stat().st_mtime)[:MOST]


def _day(path: Path) -> str:
    return datetime.fromtimestamp(path.stat().st_mtime, UTC).date().isoformat()


def _each(paths: Sequence[Path], read: Callable[[Path], Found]) -> Iterator[Found]:
    """What can be read; a file of another sort, or a damaged one, is told by the command that takes it."""
    for path in paths:
        try:
            yield read(path)
        except (FeltloadError, OSError):
            continue
