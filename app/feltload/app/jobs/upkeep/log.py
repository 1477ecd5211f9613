"""The log of a machine: a line of JSON for each measurement, added whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from feltload.app.errors import UsageError
from feltload.app.jobs.upkeep.entries import HealthEntry
from feltload.core import read_text, write_file

if TYPE_CHECKING:
    from collections.abc import Iterator

LOG = "health.jsonl"
WAIT_S = 30.0
"""Another command that adds to the same log is done within this."""


@dataclass(frozen=True)
class HealthLog:
    """What a log says.

    Attributes
    ----------
    entries : tuple of HealthEntry
        In the order of the file.
    cut : str
        What stands behind the last whole line: the beginning of one that was not written to its end; usually empty.
    """

    entries: tuple[HealthEntry, ...] = ()
    cut: str = ""


def read_log(path: Path) -> HealthLog:
    """Every measurement in a log; none where there is no such file.

    Raises
    ------
    UsageError
        A line before the last cannot be read, or the last is whole and no measurement.
    """
    if not path.exists():
        return HealthLog()
    text = read_text(path, UsageError)
    lines = text.splitlines()
    entries: list[HealthEntry] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            entries.append(HealthEntry.model_validate_json(line))
        except ValidationError as error:
            if number == len(lines) and not text.endswith("\n"):
                return HealthLog(tuple(entries), line)
            raise UsageError(
                f"line {number} is no measurement ({error.errors()[0]['msg']})",
                where=str(path),
                remedy="remove that line, or name another log with --log",
            ) from error
    return HealthLog(tuple(entries))


def append_entries(path: Path, entries: Sequence[HealthEntry]) -> None:
    """Add measurements to a log; what is there stays, but for a line that was cut, which goes to a file beside it.

    Raises
    ------
    UsageError
        One of them is in the log already, or another command does not let go of it.
    """
    with _alone(path):
        log = read_log(path)
        for entry in entries:
            for kept in log.entries:
                if entry.recordings and (entry.recordings, entry.side) == (kept.recordings, kept.side):
                    raise UsageError(
                        f"holds this measurement already, of {kept.measured[:10]}",
                        where=str(path),
                        remedy="leave out --keep, or measure again",
                    )
        text = read_text(path, UsageError) if path.exists() else ""
        if log.cut:
            write_file(path.with_name(f"{path.name}.cut"), log.cut, private=True)
            text = text[: len(text) - len(log.cut)]
        if text and not text.endswith("\n"):
            text += "\n"
        added = "".join(f"{entry.model_dump_json()}\n" for entry in entries)
        write_file(path, text + added, private=True)


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Nobody else adds to the log meanwhile."""
    from filelock import FileLock, Timeout

    if not path.parent.is_dir():
        raise UsageError(
            "there is no such directory", where=str(path.parent), remedy="make it, or name another --log"
        )
    try:
        with FileLock(path.with_name(f".{path.name}.lock"), timeout=WAIT_S):
            yield
    except Timeout:
        raise UsageError(
            "another command is writing it", where=str(path), remedy="wait until it is done, and try again"
        ) from None
