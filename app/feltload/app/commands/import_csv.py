"""``feltload import``: CSV files of a user's own logger to a recording."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NO_HAND_SCALE, CommonOptions, HandScaleOptions


def import_csv(
    *,
    out: Path,
    force: Path | None = None,
    imu: Path | None = None,
    accel: Path | None = None,
    readings: Path | None = None,
    load: str | None = None,
    machine: Path | None = None,
    columns: str = "",
    side: Literal["left", "right"] | None = None,
    rated_capacity: str | None = None,
    tempo: str | None = None,
    notes: str = "",
    kind: Literal["machine", "holds", "helped"] | None = None,
    certificate: list[Path] | None = None,
    hand_scale: HandScaleOptions = NO_HAND_SCALE,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Make a recording of the CSV files of your own logger.

    force.csv needs time_s and force_n (or force_kgf, force_lbf, force_counts); imu.csv needs time_s,
    gyro_x_rad_s ... (or _deg_s) and accel_x_m_s2 ... (or _g). Times may be time_ms or time_us, dates and clock times;
    units may be in brackets or in a row below. With host_time_s in both files the clocks are joined by it. Where a
    name is not understood, the error proposes --columns for that file.

    --readings takes a table of a bench or hanging scale that was read by hand at stops, and makes a static profile.

    One file alone will do for a sensor that is to be calibrated or looked at; it then needs no load.

    Example: feltload import --force f.csv --imu i.csv --machine row.toml --load "40 kg" --out row-40kg.mcap

    Example: feltload import --imu poses.csv --out poses.mcap

    Example: feltload import --readings stops.csv --machine row.toml --load "40 kg" --out row-by-hand

    Parameters
    ----------
    out
        Recording to write (.mcap); with --readings the directory for the profile.
    force
        CSV file of the load cell.
    imu
        CSV file of the inertial sensor; with --accel, of its gyro.
    accel
        CSV file of the accelerometer, where the logger wrote it apart; joined to the gyro by time.
    readings
        CSV table of positions (angle_deg, rotation_deg, travel_percent or handle_travel_cm), readings (reading_n,
        reading_kgf or reading_lbf) and, best noted, way (raising or lowering).
    load
        Mass loaded, such as "40 kg" or "90 lb"; needed where both force and motion are given.
    machine
        Machine file; kept in the recording.
    columns
        Other column names, such as "time_s=Time,force_n=Load", or column numbers, such as "time_s=1,force_n=2".
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
    from feltload.app.errors import UsageError
    from feltload.app.files.inputs import read_load, read_machine_text
    from feltload.app.files.outputs import claimed_file
    from feltload.app.files.recordings import facts_of_given, read_certificates
    from feltload.app.text.facts import describe
    from feltload.core import parse_quantity

    console = Console(common)
    if readings is not None:
        _require_alone({"--force": force, "--imu": imu, "--accel": accel, "--certificate": certificate})
        return _by_hand(console, readings, machine, load, hand_scale, out, overwrite=force_overwrite)
    if accel is not None and imu is None:
        raise UsageError(
            "a file of the accelerometer needs one of the gyro", where="--accel", remedy="give it with --imu"
        )
    if force is not None and imu is not None and load is None:
        raise UsageError(
            "force and motion together need the load of the machine",
            where="--load",
            remedy='give a mass, such as --load "40 kg"',
        )
    mass = None if load is None else read_load(load, "--load")
    capacity = (
        None
        if rated_capacity is None
        else parse_quantity(rated_capacity, "force", where="--rated-capacity").value
    )
    machine_toml = None if machine is None else read_machine_text(machine)
    given = read_certificates(certificate or [])
    certificates = assign_certificates(given, SENSORS)
    claimed = claimed_file(out, overwrite=force_overwrite, private=kind in ("holds", "helped"))
    with claimed, console.progress("Importing"):
        recording = import_files(
            force,
            imu,
            out,
            accel=accel,
            load_kg=None if mass is None else mass.value,
            load_u_kg=None if mass is None else mass.u,
            load_stated="" if mass is None else mass.text,
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
    console.facts(facts_of_given(given))
    for health in healths:
        console.say(f"{health.name}: {health.samples} samples, {health.rate_hz:.0f} Hz")
        for fact in health.facts():
            console.note(f"Note: {describe(fact)}")
    console.say(f"Recording: {out}")
    console.result({"recording": str(out), "streams": [health.to_dict() for health in healths]})
    return 0


def _require_alone(others: dict[str, object]) -> None:
    """Refuse what belongs to a logger's files beside readings by hand."""
    from feltload.app.errors import UsageError

    for option, value in others.items():
        if value is not None:
            raise UsageError("does not go with --readings", where=option, remedy="leave one of the two out")


def _by_hand(
    console: Console,
    readings: Path,
    machine: Path | None,
    load: str | None,
    hand_scale: HandScaleOptions,
    out: Path,
    *,
    overwrite: bool,
) -> int:
    """A static profile of a table of readings."""
    from feltload.app.errors import UsageError
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.measuring.by_hand import measure_by_hand
    from feltload.app.pages.result_folder import ALL_FILES, write_result
    from feltload.signal import profile_summary

    if machine is None:
        raise UsageError(
            "readings need a machine file", where="--machine", remedy="make one: feltload new machine"
        )
    claim_directory(out, ALL_FILES, overwrite=overwrite, make=False)
    with console.progress("Estimating the static profile"):
        measurement = measure_by_hand(readings, machine, load, hand_scale)
        claim_directory(out, ALL_FILES, overwrite=overwrite)
        report = write_result(out, measurement.estimate, measurement.provenance)
    console.findings(measurement.estimate)
    console.say(f"Report: {report}")
    console.result({**profile_summary(measurement.estimate), "report": str(report)})
    return 0
