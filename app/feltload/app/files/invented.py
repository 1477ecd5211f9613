"""Data of emulated machines and people, which says so wherever it is shown."""

from __future__ import annotations

from feltload.acquisition import Recording

INVENTED = "invented"
"""A word in a recording's notes or rig name by which emulated data is known."""


def is_invented(recording: Recording) -> bool:
    """Whether the recording says that it is of an emulated rig."""
    return INVENTED in f"{recording.info.notes} {recording.info.rig.name}".lower()
