"""The script that a request asks for."""

from __future__ import annotations

from feltload.acquisition import RecordingInfo
from feltload.app.options import PersonOptions
from feltload.app.scripts.repetitions import RepetitionScript
from feltload.app.scripts.script import Script


def script_of(info: RecordingInfo, person: PersonOptions) -> Script:
    """The script of a recording; that of a machine needs nothing else.

    Raises
    ------
    FeltloadError
        Where what holds or a helped set go by is missing or does not fit.
    """
    if not info.is_about_a_person:
        return RepetitionScript()
    # Slow to import: a machine's recording should not wait for it.
    from feltload.app.sessions.script_choice import prepare_script

    return prepare_script(info, person, profile_alone=True).script
