"""Data of emulated machines and people, which says so wherever it is shown."""

from __future__ import annotations

from pathlib import Path

from feltload.acquisition import Recording, RigDescription, read_recording
from feltload.core import FeltloadError


def is_invented(recording: Recording) -> bool:
    """Whether its rig is flagged as emulated; what a person writes in the notes or as a name decides nothing."""
    return recording.info.rig.invented


def with_replays_flagged(rig: RigDescription) -> RigDescription:
    """The rig, flagged as invented when it replays a recording that is."""
    replayed = {stream.link.path for stream in rig.streams if stream.link.type == "replay"}
    return rig.model_copy(update={"invented": rig.invented or any(map(_replays_invented, replayed))})


def _replays_invented(path: str) -> bool:
    try:
        return is_invented(read_recording(Path(path)))
    except FeltloadError:
        # What cannot be read is refused when it is replayed.
        return False
