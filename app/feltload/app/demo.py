"""The whole job on an emulated machine: a process of its own sends real bytes over pseudo terminals."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition.description import load_rig
from feltload.acquisition.quantities import parse_quantity
from feltload.acquisition.recording import RecordingInfo
from feltload.app.console import Console
from feltload.app.errors import AppError
from feltload.app.recording_session import run_session

SCENARIO = "lever-row"
LOADS = ("20 kg", "40 kg")
SESSION_S = 24.0
"""Length of each recording: rest, repetitions at mixed tempo, rest."""
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
    return ("machine.toml", *(_recording_name(load) for load in LOADS))


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
    for seed, load in enumerate(LOADS, start=1):
        path = directory / _recording_name(load)
        console.note(f"Recording {len(recordings) + 1} of {len(LOADS)}: {load}, about {SESSION_S:.0f} s")
        with tempfile.TemporaryDirectory(prefix="feltload-demo-") as scratch:
            rig_file = Path(scratch) / "rig.toml"
            with _emulated_rig(load, seed, rig_file, machine):
                info = RecordingInfo(
                    load_kg=parse_quantity(load, "mass").value,
                    load_u_kg=0.05,
                    rig=load_rig(rig_file),
                    tempo="mixed",
                    notes=NOTES,
                    machine_toml=machine.read_text(encoding="utf-8"),
                )
                summary = asyncio.run(
                    run_session(
                        console,
                        info.rig,
                        info,
                        path,
                        duration_s=SESSION_S,
                        tare_s=TARE_S,
                        overwrite=True,
                    )
                )
        if summary.fault is not None:
            raise summary.fault
        recordings.append(path)
    return DemoRecordings(machine, tuple(recordings))


def _recording_name(load: str) -> str:
    return f"lever-{load.replace(' ', '')}.mcap"


@contextmanager
def _emulated_rig(load: str, seed: int, rig_file: Path, machine: Path) -> Iterator[None]:
    """Run the rig's process for as long as the block runs."""
    command = [
        *(sys.executable, "-m", "feltload.acquisition.emulator"),
        *("--scenario", SCENARIO, "--load", load, "--seed", str(seed), "--duration", str(SESSION_S)),
        *("--write-rig", str(rig_file), "--write-machine", str(machine)),
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        # One line of JSON says that the ports are there and the files are written.
        line = process.stdout.readline() if process.stdout is not None else ""
        try:
            json.loads(line)
        except ValueError:
            process.terminate()
            said = process.communicate()[1].strip().splitlines()
            raise AppError(
                said[-1] if said else "ended without a word",
                where="emulated rig",
                remedy="the demo needs pseudo terminals (Linux or macOS)",
            ) from None
        yield
    finally:
        process.terminate()
        try:
            process.communicate(timeout=LEAVE_TIMEOUT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
