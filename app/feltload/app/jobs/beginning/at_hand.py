"""What lies in a folder already: machine files, rig files, recordings, results, capacities; the newest first."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition import read_recording
from feltload.core import LARGEST_TEXT, FeltloadError


@dataclass(frozen=True)
class AtHand:
    """Files of one folder by what they are, the newest of each kind first.

    Attributes
    ----------
    machines, rigs, recordings, results, capacities : tuple of Path
        Recordings are those of a machine's repetitions, and of the machine of the newest of them alone.
    """

    machines: tuple[Path, ...] = ()
    rigs: tuple[Path, ...] = ()
    recordings: tuple[Path, ...] = ()
    results: tuple[Path, ...] = ()
    capacities: tuple[Path, ...] = ()


def look_around(folder: Path) -> AtHand:
    """Look at the files directly in `folder`, without opening what is large."""
    entries = sorted(folder.iterdir(), key=_age, reverse=True)
    tables = [(path, _keys(path, tomllib.loads)) for path in entries if path.suffix == ".toml"]
    records = [(path, _keys(path, json.loads)) for path in entries if path.suffix == ".json"]
    return AtHand(
        machines=_having("mechanism", tables),
        rigs=_having("streams", tables),
        recordings=_of_one_machine([path for path in entries if path.suffix == ".mcap"]),
        results=tuple(path for path in entries if (path / "profile.json").is_file()),
        capacities=tuple(path for path, keys in records if {"force_n", "angle_deg", "source"} <= keys),
    )


def _of_one_machine(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Recordings of repetitions with the machine file that the newest of them holds."""
    kept: list[tuple[Path, str | None]] = []
    for path in paths:
        try:
            if path.stat().st_size > LARGEST_TEXT:
                continue
            info = read_recording(path).info
        except (OSError, FeltloadError):
            # Damaged: the command that takes it will say so.
            continue
        if info.kind in (None, "", "machine"):
            kept.append((path, info.machine_toml))
    return tuple(path for path, machine in kept if machine == kept[0][1])


def _having(key: str, tables: Iterable[tuple[Path, frozenset[str]]]) -> tuple[Path, ...]:
    return tuple(path for path, keys in tables if key in keys)


def _age(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        # A link to nowhere.
        return 0.0


def _keys(path: Path, parse: Callable[[str], object]) -> frozenset[str]:
    """Keys of the outermost table; none where it cannot be read, which the command that takes it will say."""
    try:
        if path.stat().st_size > LARGEST_TEXT:
            return frozenset()
        content = parse(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return frozenset()
    return frozenset(content) if isinstance(content, dict) else frozenset()
