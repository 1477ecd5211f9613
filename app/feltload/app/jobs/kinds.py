"""Whether a person's recording is of the kind that a command needs: a set, holds, or maximal repetitions."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.acquisition import Recording
from feltload.app.errors import UsageError
from feltload.app.jobs.measuring.fixed_arm import FEWEST_HOLDS, count_efforts
from feltload.signal import Session

Wanted = Literal["set", "holds", "maximal-repetitions"]

_RECORDED_AS = {
    "machine": "ordinary repetitions that show the machine",
    "holds": "holds against a fixed arm",
    "helped": "a set helped by hand",
}
_SUITS: dict[Wanted, tuple[str, ...]] = {
    "set": ("machine", "helped"),
    "holds": ("holds",),
    "maximal-repetitions": ("machine",),
}
_REMEDIES: dict[Wanted, str] = {
    "set": "give it to `feltload client capacity`, and name the recording of the set",
    "holds": "name the recording of the maximal holds",
    "maximal-repetitions": "name a recording of maximal repetitions without help",
}


def require_kind(path: Path, recording: Recording, session: Session, wanted: Wanted) -> None:
    """Refuse a recording of another kind: by what it says of itself, and for a set by what it shows.

    Raises
    ------
    UsageError
        Says what it is and where it belongs.
    """
    kind = recording.info.kind
    if kind is not None and kind not in _SUITS[wanted]:
        raise UsageError(f"was recorded as {_RECORDED_AS[kind]}", where=str(path), remedy=_REMEDIES[wanted])
    if wanted == "holds":
        return
    holds, moving = count_efforts(session, tuple(recording.marks))
    if holds >= FEWEST_HOLDS and holds > moving:
        raise UsageError(
            f"looks like holds against a fixed arm ({holds} of them), not repetitions",
            where=str(path),
            remedy=_REMEDIES[wanted],
        )
