"""Make the recordings of an invented study: ``python recordings/make_study.py FOLDER``.

Machines of one model, operators, days, remounts: each with errors of its own, by the emulated rig, in seconds. The cell
sends counts; `cell-readings.csv` in the same folder is its calibration. `truth.csv` has what each measurement would
read of the peak force if nothing but the mounting and the gain of the cell were wrong.
"""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from feltload.acquisition import RecordingInfo, RecordingWriter
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.emulator import BenchCell, Visit, calibration_readings, campaign, simulate
from feltload.emulator.boards.board import sent
from feltload.emulator.boards.faults import Faults
from feltload.emulator.boards.protocols import PROTOCOLS
from feltload.emulator.boards.rig_file import rig_toml

HANDS_OFF_S = 2.5
PROTOCOL = PROTOCOLS["reference"]
START_NS = 7_000_000_000


def write_visit(visit: Visit, path: Path) -> None:
    """Write one session as the recorder writes it."""
    text = rig_toml(visit.scenario, PROTOCOL, "force", "inertial", serial=BenchCell().serial)
    info = RecordingInfo(
        load_kg=visit.scenario.load_kg,
        load_u_kg=0.02,
        rig=RigDescription.model_validate(tomllib.loads(text)),
        tempo=visit.scenario.person.tempo,
        kind="machine",
        notes="Invented: emulated rig",
        started_utc=f"2026-03-{9 + visit.day:02d}T{8 + visit.remount:02d}:00:00+00:00",
        machine_toml=visit.machine_toml,
    )
    with RecordingWriter(path, info, start_ns=START_NS, overwrite=True) as writer:
        for at_s, data, board in sent(simulate(visit.scenario, seed=visit.seed), Faults(), PROTOCOL):
            writer.write(board, START_NS + round(at_s * 1e9), data)
        writer.mark("tare", START_NS, until_ns=START_NS + round(HANDS_OFF_S * 1e9))


def write_study(folder: Path, visits: list[Visit]) -> Iterator[Path]:
    """Write readings, truth and recordings; yields each recording as it is done."""
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    (folder / "cell-readings.csv").write_text(calibration_readings(), encoding="utf-8")
    rows = []
    for visit in visits:
        q_rad = np.linspace(0.0, visit.scenario.machine.travel_rad, 1001)
        peak_n = float(visit.read_static_n(q_rad).max())
        rows.append((visit.name, visit.machine, visit.operator, visit.day, visit.remount, peak_n))
        path = folder / "recordings" / f"{visit.name}.mcap"
        write_visit(visit, path)
        yield path
    columns = ["measurement", "machine", "operator", "day", "remount", "peak_n"]
    pd.DataFrame(rows, columns=columns).to_csv(folder / "truth.csv", index=False)


def main() -> None:
    """Make the study that the command line asks for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    for name, default in (("machines", 6), ("operators", 2), ("days", 2), ("remounts", 2), ("seed", 1)):
        parser.add_argument(f"--{name}", type=int, default=default)
    given = parser.parse_args()
    visits = campaign(
        machines=given.machines,
        operators=given.operators,
        days=given.days,
        remounts=given.remounts,
        seed=given.seed,
    )
    for done, path in enumerate(write_study(given.folder, visits), start=1):
        print(f"{done} of {len(visits)}: {path}")


if __name__ == "__main__":
    main()
