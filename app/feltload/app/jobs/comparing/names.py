"""What compared results are called."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.signal import ProfileEstimate


def result_names(estimates: Sequence[ProfileEstimate], folders: Sequence[str]) -> list[str]:
    """What results are called: by their machines, and by their folders where a machine is there twice."""
    machines = [estimate.machine_name for estimate in estimates]
    if len(set(machines)) == 1:
        return list(folders)
    return [
        machine if machines.count(machine) == 1 else f"{machine} ({folder})"
        for machine, folder in zip(machines, folders, strict=True)
    ]


def folder_names(directories: Sequence[Path]) -> list[str]:
    """Names of the directories; with as many of those above as it takes where two are called alike.

    Raises
    ------
    UsageError
        Where a directory is named twice.
    """
    resolved = [path.resolve() for path in directories]
    for number, path in enumerate(resolved):
        if path in resolved[:number]:
            raise UsageError(
                "a result is named twice", where=str(directories[number]), remedy="name each directory once"
            )
    for depth in range(1, max(len(path.parts) for path in resolved) + 1):
        names = ["/".join(path.parts[-depth:]) for path in resolved]
        if len(set(names)) == len(names):
            return names
    return [str(path) for path in resolved]
