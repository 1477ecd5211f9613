"""Recordings from the CSV files of a user's own logger, kept as they are."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from feltload.acquisition.certificates.assignment import SensorName
from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recording.file import exists_already
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import Recording, read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.tables.csv_layout import MAP_REMEDY
from feltload.acquisition.tables.csv_table import CsvTable, read_csv_table
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.core import Floats, InputError, replacing

__all__ = ["SENSORS", "import_csv", "parse_columns"]

SENSORS = (SensorName("force", "force"), SensorName("inertial", "inertial"))
"""The streams of an imported recording."""

_MESSAGE_BYTES = 1 << 20
SLOWEST_HZ, FASTEST_HZ = 2.0, 50_000.0
"""Rates beyond these mean that times are not in seconds."""


def parse_columns(text: str) -> dict[str, str]:
    """Read "time_s=Time,force_n=Load" into {"time_s": "Time", ...}.

    Raises
    ------
    InputError
        If a part is not NAME=COLUMN.
    """
    out = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, equals, column = (piece.strip() for piece in part.partition("="))
        if not (name and equals and column):
            raise InputError(f'"{part}" is not NAME=COLUMN', where="--columns", remedy=MAP_REMEDY)
        out[name] = column
    return out


def import_csv(
    force: str | Path,
    inertial: str | Path,
    out: str | Path,
    *,
    load_kg: float,
    load_u_kg: float | None = None,
    load_stated: str = "",
    side: str | None = None,
    tempo: str | None = None,
    notes: str = "",
    kind: str | None = None,
    machine_toml: str | None = None,
    certificates: Mapping[str, str] | None = None,
    columns: Mapping[str, str] | None = None,
    rated_capacity_n: float | None = None,
    overwrite: bool = False,
) -> Recording:
    """Make a recording of two CSV files.

    Parameters
    ----------
    force : path
        Columns ``time_s``, optional ``host_time_s``, and one of ``force_n``, ``force_kgf``,
        ``force_lbf``, ``force_counts`` (with a certificate named "force").
    inertial : path
        Columns ``time_s``, optional ``host_time_s``, ``gyro_x_rad_s`` ... (or ``_deg_s``),
        ``accel_x_m_s2`` ... (or ``_g``).
    out : path
        The recording to write.
    load_kg, load_u_kg, load_stated, side, tempo, notes, kind, machine_toml, certificates
        As in `RecordingInfo`.
    columns : mapping, optional
        Name above to the file's own column name.
    rated_capacity_n : float, optional
    overwrite : bool

    Returns
    -------
    Recording
        Clocks: with ``host_time_s`` in both files that is the arrival time (streams'
        ``attrs["clock"] == "arrival"``); without, ``time_s`` is one common clock ("common").

    Raises
    ------
    InputError
        Names the file, the line, the column and the remedy.
    RecordingError
        The recording exists already, or cannot be written.
    """
    tables = [
        read_csv_table(force, "force", columns=columns, rated_capacity_n=rated_capacity_n),
        read_csv_table(inertial, "inertial", columns=columns),
    ]
    joined = all(table.host_time_s is not None for table in tables)
    clocks = [
        table.host_time_s if joined and table.host_time_s is not None else table.time_s for table in tables
    ]
    _require_seconds(tables, clocks, "host_time_s" if joined else "time_s")
    _require_overlap(tables, clocks)
    origin = min(float(clock[0]) for clock in clocks)
    timing: Literal["column", "common"] = "column" if joined else "common"
    streams = tuple(
        table.description.model_copy(update={"timing": timing, "host_offset_s": -origin}) for table in tables
    )
    info = RecordingInfo(
        load_kg=load_kg,
        rig=RigDescription(name="imported", streams=streams),
        load_u_kg=load_u_kg,
        load_stated=load_stated,
        side=side,
        tempo=tempo,
        notes=notes,
        machine_toml=machine_toml,
        certificates=certificates or {},
        kind=kind,
    )
    out = Path(out)
    if out.exists() and not overwrite:
        raise exists_already(out)
    try:
        # What a full disk cut is not left behind as a recording.
        with replacing(out) as part:
            # The writer makes its own file; over an existing one it would write beside it.
            part.unlink()
            _write(part, info, tables, clocks, origin)
    except OSError as error:
        raise RecordingError(
            f"the recording cannot be written ({error.strerror or error})",
            where=str(out),
            remedy="make room on the disk, or choose a folder that you may write to",
        ) from error
    return read_recording(out)


def _write(
    path: Path,
    info: RecordingInfo,
    tables: list[CsvTable],
    clocks: list[Floats],
    origin: float,
) -> None:
    with RecordingWriter(path, info, start_ns=0) as writer:
        for table, clock in zip(tables, clocks, strict=True):
            span = float(clock[-1]) - float(clock[0])
            for start in range(0, len(table.data), _MESSAGE_BYTES):
                piece = table.data[start : start + _MESSAGE_BYTES]
                share = (start + len(piece)) / len(table.data)
                stamp_s = float(clock[0]) - origin + share * span
                writer.write(table.description.name, round(stamp_s * 1e9), piece)


def _require_seconds(tables: list[CsvTable], clocks: list[Floats], column: str) -> None:
    for table, clock in zip(tables, clocks, strict=True):
        period = float(clock[-1] - clock[0]) / max(clock.size - 1, 1)
        if clock.size > 1 and not 1.0 / FASTEST_HZ <= period <= 1.0 / SLOWEST_HZ:
            raise InputError(
                f"rows are {period:.3g} s apart on average",
                where=f"{table.path}: column {column}",
                remedy="give times in seconds (milliseconds divided by 1000, microseconds by 1000000)",
            )


def _require_overlap(tables: list[CsvTable], clocks: list[Floats]) -> None:
    start = max(float(clock[0]) for clock in clocks)
    stop = min(float(clock[-1]) for clock in clocks)
    if stop <= start:
        ranges = ", ".join(
            f"{table.path.name} {clock[0]:.3f} to {clock[-1]:.3f} s"
            for table, clock in zip(tables, clocks, strict=True)
        )
        raise InputError(
            f"the files do not overlap in time: {ranges}",
            where=" and ".join(str(table.path) for table in tables),
            remedy="give files of one session, or host_time_s in both if their own clocks differ",
        )
