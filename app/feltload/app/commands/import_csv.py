"""``feltload import``: CSV files of a user's own logger to a recording."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def import_csv(
    *,
    force: Path,
    imu: Path,
    load: str,
    out: Path,
    machine: Path | None = None,
    columns: str = "",
    side: Literal["left", "right"] | None = None,
    rated_capacity: str | None = None,
    tempo: str | None = None,
    notes: str = "",
    kind: Literal["machine", "holds", "helped"] | None = None,
    certificate: list[Path] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Make a recording of the CSV files of your own logger.

    force.csv needs time_s and force_n (or force_kgf, force_lbf, force_counts); imu.csv needs time_s,
    gyro_x_rad_s ... (or _deg_s) and accel_x_m_s2 ... (or _g). With host_time_s in both files the clocks
    are joined by it.

    Example: feltload import --force f.csv --imu i.csv --machine row.toml --load "40 kg" --out row-40kg.mcap

    Parameters
    ----------
    force
        CSV file of the load cell.
    imu
        CSV file of the inertial sensor.
    load
        Mass loaded, such as "40 kg" or "90 lb".
    out
        Recording to write (.mcap).
    machine
        Machine file; kept in the recording.
    columns
        Other column names, such as "time_s=Time,force_n=Load".
    side
        Arm that was moved, on a machine with two.
    rated_capacity
        Rated capacity of the cell, such as "2000 N", to count overloads.
    tempo
        Tempo plan to keep with it, such as 3-1-3.
    notes
        Free text to keep with it.
    kind
        What was recorded: repetitions of the machine, a person's maximal holds, or a set with help by hand.
    certificate
        Calibration certificates (JSON) of the sensors, matched by kind; or force=FILE, inertial=FILE.
    force_overwrite
        Replace a recording that is there already.
    """
    from feltload.acquisition import SENSORS, assign_certificates, import_csv as import_files, parse_columns
    from feltload.app.files.inputs import read_certificates, read_load, read_machine_text
    from feltload.app.files.outputs import claim_file
    from feltload.app.text.facts import describe
    from feltload.core import parse_quantity

    console = Console(common)
    mass = read_load(load, "--load")
    capacity = (
        None
        if rated_capacity is None
        else parse_quantity(rated_capacity, "force", where="--rated-capacity").value
    )
    machine_toml = None if machine is None else read_machine_text(machine)
    certificates = assign_certificates(read_certificates(certificate or []), SENSORS)
    claim_file(out, overwrite=force_overwrite, private=kind in ("holds", "helped"))
    with console.progress("Importing"):
        recording = import_files(
            force,
            imu,
            out,
            load_kg=mass.value,
            load_u_kg=mass.u,
            load_stated=mass.text,
            side=side,
            tempo=tempo,
            notes=notes,
            kind=kind,
            machine_toml=machine_toml,
            certificates=certificates,
            columns=parse_columns(columns),
            rated_capacity_n=capacity,
            overwrite=force_overwrite,
        )
        healths = list(recording.health.values())
    for health in healths:
        console.say(f"{health.name}: {health.samples} samples, {health.rate_hz:.0f} Hz")
        for fact in health.facts():
            console.note(f"Note: {describe(fact)}")
    console.say(f"Recording: {out}")
    console.result({"recording": str(out), "streams": [health.to_dict() for health in healths]})
    return 0
