"""Force and lever angle of a recording on one clock, for motion-capture software."""

from __future__ import annotations

from pathlib import Path

from feltload.acquisition import Recording, write_c3d
from feltload.app.jobs.reference import reference_of
from feltload.calibration import parse_machine
from feltload.signal import Session, prepare


def export_motion(recording: Recording, path: Path, *, side: str | None, overwrite: bool) -> Path:
    """Write tared force and lever angle as a C3D file.

    The angle is the elevation of the handle's line where the recording holds a machine file, else the
    rotation from the start stop. The lag of the force's own filter and link is left in.
    """
    session = Session.from_recording(recording, side=side, name=path.stem)
    aligned, _, _ = prepare(session)
    start_rad = 0.0
    if recording.info.machine_toml is not None:
        start_rad = reference_of(parse_machine(recording.info.machine_toml, recording.where)).start_angle_rad
    force_s = aligned.force.time_s
    shared = (aligned.time_s >= force_s[0]) & (aligned.time_s <= force_s[-1])
    write_c3d(
        path,
        aligned.force.at(aligned.time_s[shared]),
        start_rad + aligned.q_rad[shared],
        rate_hz=aligned.rate_hz,
        overwrite=overwrite,
        private=recording.info.is_about_a_person,
    )
    return path
