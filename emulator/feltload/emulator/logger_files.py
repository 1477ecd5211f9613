"""An emulated session as the files of a user's own logger."""

from __future__ import annotations

from pathlib import Path

from feltload.emulator.machines.dynamics import Lever
from feltload.emulator.simulation import SimulatedRun
from feltload.emulator.surveys import machine_toml


def write_logger_files(run: SimulatedRun, folder: Path, *, host_time: bool = True) -> None:
    """Write ``force.csv`` and ``imu.csv``, and ``machine.toml`` for a plain lever.

    Parameters
    ----------
    run : SimulatedRun
    folder : Path
        Made if it is not there; files in it are replaced.
    host_time : bool
        Give the arrival times too. Without them the two clocks cannot be joined.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for stream, name in ((run.force, "force.csv"), (run.inertial, "imu.csv")):
        table = stream.rename(columns={"device_s": "time_s", "host_s": "host_time_s"}).drop(columns="seq")
        values = [column for column in table.columns if not column.endswith("time_s")]
        first = ["time_s", "host_time_s"] if host_time else ["time_s"]
        table[first + values].to_csv(folder / name, index=False, float_format="%.9f")
    if isinstance(run.scenario.machine, Lever):
        text = machine_toml(run.scenario, start_angle_rad=run.stated["start_angle_rad"][0])
        (folder / "machine.toml").write_text(text, encoding="utf-8")
