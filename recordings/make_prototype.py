"""Build a lever from its machine file and record it: ``python recordings/make_prototype.py MACHINE.toml FOLDER``.

The emulated rig does both, in seconds: every dimension is a little off, as far as the machine file says it may be. The
cell sends counts; `cell-readings.csv` in the same folder is its calibration.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from make_study import write_visit

from feltload.core import mass_text, parse_quantity
from feltload.emulator import BenchCell, Person, Scenario, Visit, built_lever, calibration_readings, scenario
from feltload.emulator.people.person import lasting

DURATION_S = 40.0


def record_prototype(
    text: str, folder: Path, *, travel_rad: float, loads_kg: list[float], seed: int
) -> list[Path]:
    """Write a recording for each load, and the readings of the cell; the same seed builds the same machine."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "cell-readings.csv").write_text(calibration_readings(), encoding="utf-8")
    lever = built_lever(text, travel_rad=travel_rad, seed=seed)
    paths = []
    for number, load_kg in enumerate(loads_kg):
        usual = scenario("lever-row", load_kg=load_kg)
        scene = Scenario(
            name="prototype",
            machine=lever,
            person=lasting(Person(tempo="mixed"), travel_rad, DURATION_S, seed=seed + number),
            sensors=replace(usual.sensors, force=BenchCell().on_machine(usual.sensors.force)),
            load_kg=load_kg,
        )
        path = folder / f"{mass_text(load_kg).replace(' ', '')}.mcap"
        write_visit(Visit("prototype", "kim", 1, 1, scene, 0.0, text, seed + number), path)
        paths.append(path)
    return paths


def main() -> None:
    """Build and record what the command line asks for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("machine", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--travel", default="50 deg", help="from the start stop to the end stop")
    parser.add_argument("--load", action="append", help='such as "40 kg"; may be repeated')
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    for path in record_prototype(
        given.machine.read_text(encoding="utf-8"),
        given.folder,
        travel_rad=parse_quantity(given.travel, "angle", where="--travel").value,
        loads_kg=[
            parse_quantity(each, "mass", where="--load").value for each in given.load or ["20 kg", "40 kg"]
        ],
        seed=given.seed,
    ):
        print(path)


if __name__ == "__main__":
    main()
