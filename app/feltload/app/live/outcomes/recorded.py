"""Recordings of a machine to its result: of one arm, of both, or of a machine that has no two."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.app.files.recordings import open_recording
from feltload.app.live.outcomes.arms import profile_arms
from feltload.app.live.outcomes.machine import write_measured
from feltload.app.live.outcomes.outcome import Outcome
from feltload.app.live.setup.folder import WorkingFolder


def profile_recordings(folder: WorkingFolder, recordings: Sequence[Path], name: str) -> Outcome:
    """Measure the machine of these recordings and write the result beside them; takes some seconds.

    One arm of a machine with two is measured with the recordings of that arm alone.

    Raises
    ------
    FeltloadError
        There is no profile in them.
    """
    # Slow to import, here and below, and only this needs them.
    from feltload.app.jobs.both_sides import arms_in
    from feltload.app.jobs.measuring.measurement import measure

    arms = {path: arms_in(open_recording(path).info) for path in recordings}
    newest = arms[recordings[-1]]
    alike = [path for path in recordings if arms[path] == newest]
    if len(newest) > 1:
        return profile_arms(folder, alike, name)
    side = next(iter(newest), None)
    return write_measured(folder, measure(alike, side=side), "-".join(filter(None, (name, side))))
