"""The free swing of the unloaded arm, read from a recording of its own and compared with the machine file."""

from __future__ import annotations

from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.recordings import open_recording
from feltload.calibration import Gravity, Machine, RidingMass, SwingCheck, check_recorded_swing, parse_machine


def check_swing_recording(
    path: Path, machine: Machine, gravity: Gravity, *, side: str | None = None
) -> SwingCheck:
    """m g d / I of the swinging arm against that of the surveyed one.

    Raises
    ------
    UsageError
        When the recording is of another machine, has no inertial sensor or several to choose from, or the machine
        file leaves out how a part's mass is spread.
    AgreementError
        When it swings too little or too few times.
    """
    compact = [
        rider.name
        for rider in machine.riders
        if isinstance(rider, RidingMass) and not rider.is_load and rider.gyration_radius is None
    ]
    if compact:
        raise UsageError(
            f"no gyration_radius for {' and '.join(compact)}, which the free swing depends on",
            where=machine.name,
            remedy="add it to the machine file (a third of the part's length for a plain bar held at its middle)",
        )
    recording = open_recording(path)
    if recording.info.machine_toml is not None:
        theirs = parse_machine(recording.info.machine_toml, f"{path}: machine.toml").name
        if theirs != machine.name:
            raise UsageError(
                f"is of {theirs!r}, the machine file of {machine.name!r}",
                where=str(path),
                remedy="record the free swing of this machine's arm",
            )
    names = recording.streams_of("inertial", side=side)
    if len(names) != 1:
        raise UsageError(
            f"has {len(names)} inertial sensors{'' if side is None else f' on the {side} arm'}, one is needed",
            where=str(path),
            remedy="record the sensor on the swinging arm alone"
            if side is not None or not names
            else "say which arm with --side",
        )
    return check_recorded_swing(recording.stream(names[0]), machine, g_m_s2=gravity.value, u_g_m_s2=gravity.u)
