"""The whole job on an emulated machine: a process of its own sends real bytes over pseudo terminals."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition import RecordingInfo, load_rig
from feltload.app.console import Console
from feltload.app.errors import AppError
from feltload.app.sessions.recording_session import run_session
from feltload.core import parse_quantity, write_file

SCENARIO = "lever-row"
SESSIONS = (("20 kg", 2), ("40 kg", 3))
"""Load and seed of each recording. With these seeds two or more repetitions reach each end of the travel."""
SESSION_S = 27.0
"""Length of each recording: rest, four repetitions at mixed tempo, rest."""
PATIENCE_S = 120.0
"""How long the rig of a later recording waits for its turn."""
TARE_S = 2.5
LEAVE_TIMEOUT_S = 5.0
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
        rigs = [stack.enter_context(_emulated_rig(load, seed, scratch)) for load, seed in SESSIONS]
        for (load, _), rig in zip(SESSIONS, rigs, strict=True):
            console.note(
                f"Recording {len(recordings) + 1} of {len(SESSIONS)}: {load}, about {SESSION_S:.0f} s"
            )
            recordings.append(_record(console, load, rig, machine, directory / _recording_name(load)))
    return DemoRecordings(machine, tuple(recordings))


def _record(console: Console, load: str, rig: _Rig, machine: Path, path: Path) -> Path:
    """Record one session of a rig that is waiting for it."""
    rig.await_ready()
    machine_toml = rig.machine_file.read_text(encoding="utf-8")
    write_file(machine, machine_toml)
    info = RecordingInfo(
        load_kg=parse_quantity(load, "mass").value,
        load_u_kg=0.05,
        rig=load_rig(rig.rig_file),
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


@dataclass(frozen=True)
class _Rig:
    """An emulated rig's process, and the rig file and the machine file that it writes."""

    process: subprocess.Popen[str]
    rig_file: Path
    machine_file: Path

    def await_ready(self) -> None:
        """Wait for the line of JSON that says that the ports are there and the files are written."""
        line = self.process.stdout.readline() if self.process.stdout is not None else ""
        try:
            json.loads(line)
        except ValueError:
            self.process.terminate()
            last_words = self.process.communicate()[1].strip().splitlines()
            raise AppError(
                last_words[-1] if last_words else "ended without a message",
                where="emulated rig",
                remedy="the demo needs pseudo terminals (Linux or macOS)",
            ) from None


@contextmanager
def _emulated_rig(load: str, seed: int, scratch: Path) -> Iterator[_Rig]:
    """Run the rig's process for as long as the block runs."""
    rig_file, machine_file = scratch / f"rig-{seed}.toml", scratch / f"machine-{seed}.toml"
    command = [
        *(sys.executable, "-m", "feltload.emulator"),
        *("--scenario", SCENARIO, "--load", load, "--seed", str(seed), "--duration", str(SESSION_S)),
        *("--write-rig", str(rig_file), "--write-machine", str(machine_file), "--patience", str(PATIENCE_S)),
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        yield _Rig(process, rig_file, machine_file)
    finally:
        process.terminate()
        try:
            process.communicate(timeout=LEAVE_TIMEOUT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
