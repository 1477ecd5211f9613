"""The whole job on an emulated machine: a process of its own sends real bytes over pseudo terminals."""

from __future__ import annotations

import asyncio
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition import RecordingInfo
from feltload.app.console import Console
from feltload.app.sessions.emulated_rig import EmulatedRig, emulated_rig
from feltload.app.sessions.recording_session import run_session
from feltload.core import parse_quantity, write_file

SESSIONS = (("20 kg", 2), ("40 kg", 3))
"""Load and seed of each recording. With these seeds two or more repetitions reach each end of the travel."""
SESSION_S = 27.0
"""Length of each recording: rest, four repetitions at mixed tempo, rest."""
TARE_S = 2.5
NOTES = "invented: emulated rig, recorded by `feltload demo`"


@dataclass(frozen=True)
class DemoRecordings:
    """What the emulated sessions left on disk."""

    machine: Path
    recordings: tuple[Path, ...]


def file_names() -> tuple[str, ...]:
    """Files that the demo writes beside the result."""
    return ("machine.toml", *(_recording_name(load) for load, _ in SESSIONS))


def record_demo(console: Console, directory: Path) -> DemoRecordings:
    """Record every load from the emulated rig, in real time.

    Parameters
    ----------
    console : Console
        Shows the progress.
    directory : Path
        Where the recordings and the machine file go; existing ones are replaced.

    Raises
    ------
    AppError
        If the emulated rig does not start.
    """
    machine = directory / "machine.toml"
    recordings: list[Path] = []
    with ExitStack() as stack:
        scratch = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="feltload-demo-")))
        # All rigs at once: a later one gets ready while the one before it is recorded.
        rigs = [
            stack.enter_context(emulated_rig(load, seed, scratch, duration_s=SESSION_S))
            for load, seed in SESSIONS
        ]
        for (load, _), rig in zip(SESSIONS, rigs, strict=True):
            console.note(
                f"Recording {len(recordings) + 1} of {len(SESSIONS)}: {load}, about {SESSION_S:.0f} s"
            )
            recordings.append(_record(console, load, rig, machine, directory / _recording_name(load)))
    return DemoRecordings(machine, tuple(recordings))


def _record(console: Console, load: str, rig: EmulatedRig, machine: Path, path: Path) -> Path:
    """Record one session of a rig that is waiting for it."""
    rig.await_ready()
    machine_toml = rig.machine_toml()
    write_file(machine, machine_toml)
    info = RecordingInfo(
        load_kg=parse_quantity(load, "mass").value,
        load_u_kg=0.05,
        rig=rig.rig(),
        tempo="mixed",
        notes=NOTES,
        machine_toml=machine_toml,
    )
    summary = asyncio.run(
        run_session(console, info.rig, info, path, duration_s=SESSION_S, tare_s=TARE_S, overwrite=True)
    )
    if summary.fault is not None:
        raise summary.fault
    return path


def _recording_name(load: str) -> str:
    return f"lever-{load.replace(' ', '')}.mcap"
