"""Recordings from the CSV files of a user's own logger, kept as they are."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from feltload.acquisition.errors import InputError
from feltload.acquisition.fields import AXES, FieldDescription
from feltload.acquisition.recording import Recording, RecordingInfo, RecordingWriter, read_recording
from feltload.acquisition.recording_file import exists_already
from feltload.acquisition.schema import FileLink, RigDescription, StreamDescription

__all__ = ["CsvTable", "import_csv", "parse_columns", "read_csv_table"]

_FORCE_UNITS = {"force_n": "N", "force_kgf": "kgf", "force_lbf": "lbf", "force_counts": "counts"}
_GYRO_UNITS = {"rad_s": "rad/s", "deg_s": "deg/s"}
_ACCEL_UNITS = {"m_s2": "m/s2", "g": "g"}
_MESSAGE_BYTES = 1 << 20
SLOWEST_HZ, FASTEST_HZ = 2.0, 50_000.0
"""Rates beyond these mean that times are not in seconds."""
FASTEST_RAD_S = 40.0
"""Rate that moving parts of training machines, and most gyroscopes, stay far below (common practice, no source)."""
MAP_REMEDY = "map it with --columns, such as --columns time_s=Time"


@dataclass(frozen=True, eq=False)
class CsvTable:
    """A checked CSV file and how to decode it.

    Parameters
    ----------
    path : Path
    data : bytes
        The file as it is.
    description : StreamDescription
        With timing not yet settled.
    time_s : float array, shape (n,)
    host_time_s : float array, shape (n,), or None
    """

    path: Path
    data: bytes
    description: StreamDescription
    time_s: NDArray[np.float64]
    host_time_s: NDArray[np.float64] | None


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
    side: str | None = None,
    tempo: str | None = None,
    notes: str = "",
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
    load_kg, load_u_kg, side, tempo, notes, machine_toml, certificates
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
        Names the file, the row, the column and the remedy.
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
        side=side,
        tempo=tempo,
        notes=notes,
        machine_toml=machine_toml,
        certificates=certificates or {},
    )
    out = Path(out)
    if out.exists() and not overwrite:
        raise exists_already(out)
    # Under another name until it has been read back: what cannot be read is not left behind as a recording.
    written = out.with_name(f"{out.name}.{os.getpid()}.part")
    try:
        _write(written, info, tables, clocks, origin)
        _require_every_row(read_recording(written), tables)
        written.replace(out)
    finally:
        written.unlink(missing_ok=True)
    return read_recording(out)


def _write(
    path: Path,
    info: RecordingInfo,
    tables: list[CsvTable],
    clocks: list[NDArray[np.float64]],
    origin: float,
) -> None:
    with RecordingWriter(path, info, start_ns=0, overwrite=True) as writer:
        for table, clock in zip(tables, clocks, strict=True):
            span = float(clock[-1]) - float(clock[0])
            for start in range(0, len(table.data), _MESSAGE_BYTES):
                piece = table.data[start : start + _MESSAGE_BYTES]
                share = (start + len(piece)) / len(table.data)
                stamp_s = float(clock[0]) - origin + share * span
                writer.write(table.description.name, round(stamp_s * 1e9), piece)


def _require_every_row(recording: Recording, tables: list[CsvTable]) -> None:
    for table in tables:
        read = len(recording.stream(table.description.name, raw=True))
        if read != table.time_s.size:
            raise InputError(
                f"{table.time_s.size - read} of {table.time_s.size} rows cannot be read as plain numbers",
                where=str(table.path),
                remedy="write numbers without quotes, spaces within or thousands marks",
            )


def read_csv_table(
    path: str | Path,
    kind: Literal["force", "inertial"],
    *,
    columns: Mapping[str, str] | None = None,
    rated_capacity_n: float | None = None,
) -> CsvTable:
    """Read and check one CSV file.

    Raises
    ------
    InputError
        Names the file, the row, the column and the remedy.
    """
    path = Path(path)
    data = _bytes(path)
    text = data.decode("utf-8-sig")
    header = text.partition("\n")[0].rstrip("\r")
    delimiter = max(",;\t", key=header.count)
    theirs = [name.strip().strip('"') for name in header.split(delimiter)]
    repeated = {name for name in theirs if theirs.count(name) > 1}
    if repeated:
        raise InputError(f"column {sorted(repeated)[0]} is there twice", where=str(path), remedy="rename one")
    back = {column: name for name, column in (columns or {}).items()}
    ours = [back.get(name, name) for name in theirs]
    fields = _fields(ours, theirs, kind, path)
    first = text.partition("\n")[2].partition("\n")[0]
    decimal: Literal[".", ","] = "," if delimiter != "," and "," in first and "." not in first else "."
    table = _numbers(text, delimiter, decimal, fields, theirs, path)
    if kind == "inertial":
        _require_units(table, fields, path)
    time_s = table["device_time"]
    host_s = table.get("host_time")
    for name, values in (("device_time", time_s), ("host_time", host_s)):
        if values is not None:
            column = theirs[next(k for k, field in enumerate(fields) if field.name == name)]
            back_steps = np.flatnonzero(np.diff(values) < 0)
            if back_steps.size:
                row = int(back_steps[0]) + 3
                raise InputError(
                    f"time runs backwards ({values[row - 3]:.6g} then {values[row - 2]:.6g})",
                    where=f"{path}: row {row}, column {column}",
                    remedy="sort the rows or cut the file where the logger began again",
                )
    period = float(np.median(np.diff(time_s))) if time_s.size > 1 else 0.0
    description = StreamDescription(
        name=kind,
        kind=kind,
        link=FileLink(name=path.name),
        framing="lines",
        fields=tuple(fields),
        delimiter=delimiter,
        decimal=decimal,
        header_lines=1,
        rate_hz=1.0 / period if period > 0 else None,
        rated_capacity_n=rated_capacity_n if kind == "force" else None,
        timing="common",
    )
    return CsvTable(path, data, description, time_s, host_s)


def _bytes(path: Path) -> bytes:
    try:
        data = path.read_bytes()
        data.decode("utf-8")
    except FileNotFoundError:
        raise InputError("no such file", where=str(path), remedy="check the path") from None
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror or error})", where=str(path)) from None
    except UnicodeDecodeError:
        raise InputError("not a text file", where=str(path), remedy="save it as CSV in UTF-8") from None
    if len(data.strip().splitlines()) < 2:
        raise InputError("has no rows", where=str(path), remedy="give a file with a header line and samples")
    return data


def _fields(ours: list[str], theirs: list[str], kind: str, path: Path) -> list[FieldDescription]:
    """One field per column; columns that are not used are read past."""
    if "time_s" not in ours:
        raise _missing("time_s", theirs, path)
    meaning = {"time_s": ("device_time", "s"), "host_time_s": ("host_time", "s")}
    if kind == "force":
        found = [name for name in _FORCE_UNITS if name in ours]
        if not found:
            raise _missing("force_n (or force_kgf, force_lbf, force_counts)", theirs, path)
        if len(found) > 1:
            raise InputError(
                f"mixed units: {' and '.join(found)}", where=str(path), remedy="keep one of them"
            )
        meaning[found[0]] = ("force", _FORCE_UNITS[found[0]])
    else:
        meaning |= _axes(ours, theirs, "gyro", _GYRO_UNITS, path)
        meaning |= _axes(ours, theirs, "accel", _ACCEL_UNITS, path)
    fields = []
    for number, name in enumerate(ours):
        if name in meaning:
            fields.append(FieldDescription(name=meaning[name][0], type="number", unit=meaning[name][1]))
        else:
            fields.append(FieldDescription(name=f"column_{number + 1}", type="text"))
    return fields


def _axes(
    ours: list[str], theirs: list[str], quantity: str, units: dict[str, str], path: Path
) -> dict[str, tuple[str, str]]:
    used = {suffix: [f"{axis}_{suffix}" in ours for axis in AXES[quantity]] for suffix in units}
    some = [suffix for suffix, there in used.items() if any(there)]
    if len(some) > 1:
        raise InputError(
            f"mixed units: {quantity} in {' and '.join(units[suffix] for suffix in some)}",
            where=str(path),
            remedy="give all three axes in one unit",
        )
    suffix = some[0] if some else next(iter(units))
    for axis, there in zip(AXES[quantity], used[suffix], strict=True):
        if not there:
            raise _missing(f"{axis}_{suffix}", theirs, path)
    return {f"{axis}_{suffix}": (axis, units[suffix]) for axis in AXES[quantity]}


def _missing(name: str, theirs: list[str], path: Path) -> InputError:
    return InputError(f"no column {name}; it has {', '.join(theirs)}", where=str(path), remedy=MAP_REMEDY)


def _numbers(
    text: str, delimiter: str, decimal: str, fields: list[FieldDescription], theirs: list[str], path: Path
) -> dict[str, NDArray[np.float64]]:
    """Numbers of the used columns; the first cell that is none is an error."""
    try:
        table = pd.read_csv(
            StringIO(text),
            sep=delimiter,
            header=None,
            skiprows=1,
            names=range(len(theirs)),
            dtype=str,
            keep_default_na=False,
            na_values=[],
            index_col=False,
            quoting=3,
        )
    except (pd.errors.ParserError, ValueError) as error:
        message = str(error).replace("Error tokenizing data. C error: ", "")
        raise InputError(
            message, where=str(path), remedy="give every row as many columns as the header"
        ) from None
    out = {}
    for number, field in enumerate(fields):
        if field.type != "number":
            continue
        cells = table[number].str.strip()
        plain = cells.str.replace(",", ".", regex=False) if decimal == "," else cells
        values = pd.to_numeric(plain, errors="coerce").to_numpy(dtype=float)
        wrong = np.flatnonzero(~np.isfinite(values))
        if wrong.size:
            row = int(wrong[0])
            said = f'"{cells.iloc[row]}" is not a number' if cells.iloc[row] else "is empty"
            raise InputError(
                said,
                where=f"{path}: row {row + 2}, column {theirs[number]}",
                remedy="correct it or leave that row out",
            )
        out[field.name] = values
    return out


def _require_seconds(tables: list[CsvTable], clocks: list[NDArray[np.float64]], column: str) -> None:
    for table, clock in zip(tables, clocks, strict=True):
        period = float(clock[-1] - clock[0]) / max(clock.size - 1, 1)
        if clock.size > 1 and not 1.0 / FASTEST_HZ <= period <= 1.0 / SLOWEST_HZ:
            raise InputError(
                f"rows are {period:.3g} s apart on average",
                where=f"{table.path}: column {column}",
                remedy="give times in seconds (milliseconds divided by 1000, microseconds by 1000000)",
            )


def _require_units(
    table: Mapping[str, NDArray[np.float64]], fields: list[FieldDescription], path: Path
) -> None:
    """Gravity and a person's speed tell a mistaken unit."""
    units = {field.name: field.unit for field in fields}
    gyro, accel = (np.stack([table[axis] for axis in AXES[kind]], axis=1) for kind in ("gyro", "accel"))
    felt = float(np.median(np.linalg.norm(accel, axis=1)))
    unit = units[AXES["accel"][0]]
    low, high, other = (0.8, 1.25, "accel_x_g ...") if unit == "m/s2" else (8.0, 12.0, "accel_x_m_s2 ...")
    if low < felt < high:
        raise InputError(
            f"the accelerometer reads {felt:.2f} {unit} at rest, so the numbers are in the other unit",
            where=str(path),
            remedy=f"name the columns {other}",
        )
    turned = float(np.percentile(np.linalg.norm(gyro, axis=1), 99.0))
    if units[AXES["gyro"][0]] == "rad/s" and turned > FASTEST_RAD_S:
        raise InputError(
            f"the gyroscope reads {turned:.0f} rad/s, so the numbers seem to be degrees per second",
            where=str(path),
            remedy="name the columns gyro_x_deg_s ...",
        )


def _require_overlap(tables: list[CsvTable], clocks: list[NDArray[np.float64]]) -> None:
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
