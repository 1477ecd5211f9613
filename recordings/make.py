"""Makes the recordings of this folder from the emulated rig, through real serial ports in real time.

``python recordings/make.py [NAME ...]`` makes those named, or all; about a minute. Everything in them is
invented.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import sys
import tempfile
from pathlib import Path

from feltload.acquisition.recorder.recorder import Recorder
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.wire.descriptions.reading import load_rig
from feltload.app.text.facts import describe_all

FOLDER = Path(__file__).resolve().parent
SURVEY_SEED = "5"

KINDS = {"client-holds": "holds", "partner-help-40kg": "helped"}

# Load in kg, length in s, what else the emulated rig is told.
SESSIONS: dict[str, tuple[float, float, tuple[str, ...]]] = {
    "lever-row-20kg": (20.0, 36.0, ("--seed", "11")),
    "lever-row-40kg": (40.0, 36.0, ("--seed", "12")),
    "peg-out-20kg": (20.0, 36.0, ("--seed", "13", "--peg-out", "15 mm")),
    "peg-out-40kg": (40.0, 36.0, ("--seed", "14", "--peg-out", "15 mm")),
    "client-holds": (
        40.0,
        58.0,
        ("--seed", "15", "--tempo", "brisk", "--holds", "0.95,0.05,0.5,0.72,0.28"),
    ),
    "partner-help-40kg": (40.0, 36.0, ("--seed", "16", "--partner", "60:0.5-1.0")),
}


async def make(name: str) -> None:
    """Start an emulated rig, record it, keep the recording and its machine file."""
    load_kg, duration_s, arguments = SESSIONS[name]
    target = FOLDER / f"{name}.mcap"
    with tempfile.TemporaryDirectory() as scratch:
        rig_path, machine_path = Path(scratch, "rig.toml"), FOLDER / "lever-row.toml"
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            "feltload.emulator",
            *("--scenario", "lever-row", "--load", f"{load_kg:g} kg", "--duration", f"{duration_s:g}"),
            *("--linger", "6", "--survey-seed", SURVEY_SEED),
            *("--write-rig", str(rig_path), "--write-machine", str(machine_path)),
            *arguments,
            stdout=asyncio.subprocess.PIPE,
        )
        if process.stdout is None:
            raise RuntimeError("the emulated rig has no output")
        json.loads(await process.stdout.readline())
        info = RecordingInfo(
            load_kg=load_kg,
            rig=load_rig(rig_path),
            tempo="mixed",
            kind=KINDS.get(name, "machine"),
            notes=f"Invented: emulated rig, {' '.join(arguments)}",
            started_utc=dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
            machine_toml=machine_path.read_text(encoding="utf-8"),
        )
        target.unlink(missing_ok=True)
        recorder = Recorder(load_rig(rig_path), info, target, duration_s=duration_s + 0.5, tare_s=2.5)
        summary = await recorder.run()
        process.terminate()
        await process.wait()
    print(f"{target.name}: {target.stat().st_size / 1e3:.0f} kB", describe_all(summary.facts()))


async def main(names: list[str]) -> None:
    unknown = [name for name in names if name not in SESSIONS]
    if unknown:
        raise SystemExit(f"no session called {', '.join(unknown)}; choose from {', '.join(SESSIONS)}")
    await asyncio.gather(*(make(name) for name in names or SESSIONS))


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1:]))
