"""Recordings that run without a page: their page was closed, or its process ended."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from feltload.app.errors import AppError
from feltload.app.live.recorder.session_file import SessionFile, running_sessions


@dataclass(frozen=True)
class Running:
    """A recorder that runs.

    Attributes
    ----------
    session : Path
        Its session file, for `LiveSession.attach`.
    recording : Path
        The file that grows.
    """

    session: Path
    recording: Path


def recordings_that_run() -> tuple[Running, ...]:
    """Every recording of this user that runs on this computer, the newest first."""
    found = []
    for session in running_sessions():
        # It may end at this moment.
        with suppress(AppError):
            found.append(Running(session, Path(SessionFile.read(session).recording)))
    return tuple(found)
