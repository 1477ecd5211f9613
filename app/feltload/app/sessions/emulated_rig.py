"""The emulated rig as a process of its own, which sends real bytes over pseudo terminals."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition import RigDescription, load_rig
from feltload.app.errors import AppError

SCENARIO = "lever-row"
PATIENCE_S = 120.0
"""How long it waits for a recorder to open its ports."""
LEAVE_TIMEOUT_S = 5.0


@dataclass(frozen=True)
class EmulatedRig:
    """Its process, and the rig file and the machine file that it writes."""

    process: subprocess.Popen[str]
    rig_file: Path
    machine_file: Path

    def await_ready(self) -> None:
        """Wait for the line of JSON that says that the ports are there and the files are written.

        Raises
        ------
        AppError
            If it does not start.
        """
        line = self.process.stdout.readline() if self.process.stdout is not None else ""
        try:
            json.loads(line)
        except ValueError:
            self.process.terminate()
            last_words = self.process.communicate()[1].strip().splitlines()
            raise AppError(
                last_words[-1] if last_words else "ended without a message",
                where="emulated rig",
                remedy="it needs pseudo terminals (Linux or macOS)",
            ) from None

    def rig(self) -> RigDescription:
        """Its sensors, once it is ready."""
        return load_rig(self.rig_file)

    def machine_toml(self) -> str:
        """Its machine file, once it is ready."""
        return self.machine_file.read_text(encoding="utf-8")


@contextmanager
def emulated_rig(
    load: str, seed: int, scratch: Path, *, duration_s: float, words: Sequence[str] = ()
) -> Iterator[EmulatedRig]:
    """Run its process for as long as the block runs.

    Parameters
    ----------
    load : str
        Such as "40 kg".
    seed : int
        The same seed gives the same session.
    scratch : Path
        Directory for its two files.
    duration_s : float
        Length of the emulated person's session.
    words : sequence of str
        Further options of ``python -m feltload.emulator``.
    """
    rig_file, machine_file = scratch / f"rig-{seed}.toml", scratch / f"machine-{seed}.toml"
    command = [
        *(sys.executable, "-m", "feltload.emulator"),
        *("--scenario", SCENARIO, "--load", load, "--seed", str(seed), "--duration", str(duration_s)),
        *("--write-rig", str(rig_file), "--write-machine", str(machine_file), "--patience", str(PATIENCE_S)),
        *words,
    ]
    # In a session of its own: Ctrl-C in the terminal must not unplug the sensors before the recording is closed.
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    try:
        yield EmulatedRig(process, rig_file, machine_file)
    finally:
        process.terminate()
        try:
            # Its pipes are left alone: a thread may still wait for its first line.
            process.wait(timeout=LEAVE_TIMEOUT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
