"""The request to play a recording, with the profile that a person's recording goes by."""

from __future__ import annotations

from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.recordings import open_recording
from feltload.app.jobs.client_inputs import read_profile
from feltload.app.live.recorder.request import ReplayRequest
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.options import PersonOptions
from feltload.app.text.live import joining as words
from feltload.calibration import parse_machine


def replay_request(recording: Path, folder: WorkingFolder) -> ReplayRequest:
    """Play a recording; one of a person beside the newest profile of the same machine in the folder.

    Raises
    ------
    FeltloadError
        The recording cannot be read, or it holds positions to hold and their machine's profile is not in the folder.
    """
    info = open_recording(recording).info
    if not info.is_about_a_person:
        return ReplayRequest(recording)
    name = parse_machine(info.machine_toml or "", str(recording)).name
    results = [folder.path / result for result in folder.results()]
    measured = [result for result in results if read_profile(result).machine_name == name]
    if measured:
        newest = max(measured, key=lambda result: result.stat().st_mtime)
        return ReplayRequest(recording, person=PersonOptions(result=newest))
    if info.kind == "holds":
        raise UsageError(words.holds_without_profile(name), where=str(recording), remedy=words.PROFILE_BESIDE)
    return ReplayRequest(recording)
