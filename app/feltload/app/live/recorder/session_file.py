"""How a running recorder is found again: a small file of its owner's, with its address and its token."""

from __future__ import annotations

import json
import os
import secrets
import warnings
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

import platformdirs

from feltload.app.errors import AppError

VARIABLE = "FELTLOAD_SESSIONS"
"""Environment variable that names another directory."""


@dataclass(frozen=True)
class SessionFile:
    """Where a recorder listens.

    Attributes
    ----------
    host : str
        Always this computer.
    port : int
    token : str
        Who does not know it is not heard.
    pid : int
    recording : str
        The file that grows, or that is replayed.
    """

    host: str
    port: int
    token: str
    pid: int
    recording: str

    def write(self) -> Path:
        """Write it for its owner alone."""
        directory = sessions_directory()
        directory.mkdir(mode=0o700, parents=True, exist_ok=True)
        path = directory / f"{secrets.token_hex(8)}.json"
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(asdict(self), file)
        return path

    @classmethod
    def read(cls, path: Path) -> SessionFile:
        """Read it.

        Raises
        ------
        AppError
            If it is not there (the recorder has ended), or is none.
        """
        try:
            return cls(**json.loads(path.read_text(encoding="utf-8")))
        except FileNotFoundError:
            raise AppError(
                "the recorder of this session has ended", where=str(path), remedy="its recording is whole"
            ) from None
        except (OSError, ValueError, TypeError) as error:
            raise AppError(
                "is no session of a recorder", where=str(path), remedy="start a new recording"
            ) from error


def forget(session: Path) -> None:
    """Remove the file of a recorder that is gone."""
    session.unlink(missing_ok=True)


def sessions_directory() -> Path:
    """Where the files of running recorders are."""
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    with warnings.catch_warnings():
        # A system without a directory for such files has one beside its temporary files; nobody need be told.
        warnings.simplefilter("ignore")
        return platformdirs.user_runtime_path("feltload") / "recorders"


def running_sessions() -> tuple[Path, ...]:
    """Session files of recorders that still run, the newest first; those of dead ones are removed."""
    found = []
    with suppress(OSError):
        for path in sessions_directory().glob("*.json"):
            with suppress(AppError, OSError):
                if _is_alive(SessionFile.read(path).pid):
                    found.append((path.stat().st_mtime, path))
                else:
                    path.unlink(missing_ok=True)
    return tuple(path for _, path in sorted(found, reverse=True))


def _is_alive(pid: int) -> bool:
    if os.name == "nt":
        # Asking would end it there; who attaches finds out.
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
