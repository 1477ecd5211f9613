"""Recordings from the files of a user's own logger, which are kept in them as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd

from feltload.acquisition.certificates.assignment import SensorName
from feltload.acquisition.errors import RecordingError
from feltload.acquisition.loggers.join import common_seconds, join_inertial, require_overlap
from feltload.acquisition.loggers.names import ColumnNames
from feltload.acquisition.loggers.table import CsvTable, read_csv_table
from feltload.acquisition.loggers.times import TimeColumn
from feltload.acquisition.recording.file import exists_already
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import Recording, read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.link_config import FileLinkConfig
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription
from feltload.core import Floats, InputError, replacing

__all__ = ["SENSORS", "import_csv"]

SENSORS = (SensorName("force", "force"), SensorName("inertial", "inertial"))
"""The streams that an imported recording can have."""

_MESSAGE_BYTES = 1 << 20
SLOWEST_HZ, FASTEST_HZ = 2.0, 50_000.0
"""Rates beyond these mean that times are not in the unit that is stated."""
_UNREADABLE = "left out\n"
"""Stands for a line that could not be read, so that health counts it."""


def import_csv(
    force: str | Path | None,
    inertial: str | Path | None,
    out: str | Path,
    *,
    accel: str | Path | None = None,
    load_kg: float | None = None,
    load_u_kg: float | None = None,
    load_stated: str = "",
    side: str | None = None,
    tempo: str | None = None,
    notes: str = "",
    kind: str | None = None,
    machine_toml: str | None = None,
    certificates: Mapping[str, str] | None = None,
    columns: ColumnNames = (),
    rated_capacity_n: float | None = None,
    overwrite: bool = False,
) -> Recording:
    """Make a recording of the files of a logger: of a load cell, of an inertial sensor, or of both.

    Parameters
    ----------
    force : path, optional
        Columns ``time_s``, optional ``host_time_s``, and one of ``force_n``, ``force_kgf``, ``force_lbf``,
        ``force_counts`` (newtons with a certificate named "force").
    inertial : path, optional
        Columns ``time_s``, optional ``host_time_s``, ``gyro_x_rad_s`` ... (or ``_deg_s``),
        ``accel_x_m_s2`` ... (or ``_g``).
    out : path
        The recording to write.
    accel : path, optional
        The accelerometer's file, where that of `inertial` holds the gyro alone.
    load_kg : float, optional
        None where no machine was loaded, as with a sensor that is to be calibrated.
    load_u_kg, load_stated, side, tempo, notes, kind, machine_toml, certificates
        As in `RecordingInfo`.
    columns : pairs of str
        Name above and the file's own column name, as `parse_columns` gives them.
    rated_capacity_n : float, optional
    overwrite : bool

    Returns
    -------
    Recording
        Clocks: with ``host_time_s`` in both files that is the arrival time (streams'
        ``attrs["clock"] == "arrival"``); without, ``time_s`` is one common clock ("common"). The files are among
        its attachments, byte by byte.

    Raises
    ------
    InputError
        Names the file, the line, the column and the remedy.
    RecordingError
        The recording exists already, or cannot be written.
    """
    tables: dict[str, CsvTable] = {}
    files: dict[str, bytes] = {}
    if force is not None:
        tables["force"] = read_csv_table(force, "force", columns=columns)
        files[f"force-{Path(force).name}"] = tables["force"].data
    if inertial is not None:
        tables["inertial"] = read_csv_table(
            inertial, "inertial" if accel is None else "gyro", columns=columns
        )
        files[f"inertial-{Path(inertial).name}"] = tables["inertial"].data
    if inertial is not None and accel is not None:
        second = read_csv_table(accel, "accel", columns=columns)
        files[f"accel-{Path(accel).name}"] = second.data
        tables["inertial"] = join_inertial(tables["inertial"], second)
    if not tables:
        raise InputError("no file is given", remedy="give a force file, an inertial file, or both")
    hosts = [table.host_time for table in tables.values() if table.host_time is not None]
    joined = len(hosts) == len(tables)
    if joined:
        owns, clocks = [table.time.time_s for table in tables.values()], common_seconds(hosts)[0]
    else:
        owns = clocks = common_seconds([table.time for table in tables.values()])[0]
    for table, clock in zip(tables.values(), clocks, strict=True):
        _require_rate(table, clock, "host_time" if joined else "time")
    require_overlap(list(tables.values()), clocks)
    origin = min(float(clock[0]) for clock in clocks)
    info = RecordingInfo(
        load_kg=load_kg,
        rig=RigDescription(
            name="imported",
            streams=tuple(
                _description(name, table, joined=joined, origin_s=origin, rated_capacity_n=rated_capacity_n)
                for name, table in tables.items()
            ),
        ),
        load_u_kg=load_u_kg,
        load_stated=load_stated,
        side=side,
        tempo=tempo,
        notes=notes,
        started_utc=_started_utc(hosts if joined else [table.time for table in tables.values()]),
        machine_toml=machine_toml,
        certificates=certificates or {},
        kind=kind,
        files=files,
    )
    rows = {
        name: _rows(table, own, clock if joined else None)
        for (name, table), own, clock in zip(tables.items(), owns, clocks, strict=True)
    }
    out = Path(out)
    if out.exists() and not overwrite:
        raise exists_already(out)
    try:
        # What a full disk cut is not left behind as a recording.
        with replacing(out) as part:
            # The writer makes its own file; over an existing one it would write beside it.
            part.unlink()
            with RecordingWriter(part, info, start_ns=0) as writer:
                for (name, data), clock in zip(rows.items(), clocks, strict=True):
                    _write(writer, name, data, clock - origin)
    except OSError as error:
        raise RecordingError(
            f"the recording cannot be written ({error.strerror or error})",
            where=str(out),
            remedy="make room on the disk, or choose a folder that you may write to",
        ) from error
    return read_recording(out)


def _started_utc(times: Sequence[TimeColumn]) -> str:
    """The earliest of the files' dates; empty where they carry none."""
    return min((column.started_utc for column in times if column.started_utc), default="")


def _description(
    name: str, table: CsvTable, *, joined: bool, origin_s: float, rated_capacity_n: float | None
) -> StreamDescription:
    """How the samples are kept: plain numbers in SI, times first."""
    fields = [FieldDescription(name="device_time", unit="s")]
    fields += [FieldDescription(name="host_time", unit="s")] if joined else []
    fields += [FieldDescription(name=field, unit=table.units[field]) for field in table.values]
    period = float(np.median(np.diff(table.time.time_s))) if table.time.time_s.size > 1 else 0.0
    timing: Literal["column", "common"] = "column" if joined else "common"
    return StreamDescription(
        name=name,
        kind="force" if name == "force" else "inertial",
        link=FileLinkConfig(name=table.path.name),
        framing="lines",
        fields=tuple(fields),
        rated_capacity_n=rated_capacity_n if name == "force" else None,
        timing=timing,
        host_offset_s=-origin_s,
        rate_hz=1.0 / period if period > 0 else None,
    )


def _rows(table: CsvTable, own_s: Floats, host_s: Floats | None) -> bytes:
    """Samples as lines of numbers that read back as the same floats."""
    times = [own_s] if host_s is None else [own_s, host_s]
    frame = pd.DataFrame(np.stack([*times, *table.values.values()], axis=1))
    text = BytesIO()
    frame.to_csv(text, index=False, header=False)
    return text.getvalue() + _UNREADABLE.encode() * table.cut_rows


def _write(writer: RecordingWriter, name: str, data: bytes, clock_s: Floats) -> None:
    span = float(clock_s[-1] - clock_s[0])
    for start in range(0, len(data), _MESSAGE_BYTES):
        piece = data[start : start + _MESSAGE_BYTES]
        share = (start + len(piece)) / len(data)
        writer.write(name, round((float(clock_s[0]) + share * span) * 1e9), piece)


def _require_rate(table: CsvTable, clock: Floats, column: str) -> None:
    period = float(clock[-1] - clock[0]) / max(clock.size - 1, 1)
    if clock.size > 1 and not 1.0 / FASTEST_HZ <= period <= 1.0 / SLOWEST_HZ:
        units = {"ms": 1e-3, "us": 1e-6}
        fits = [unit for unit, size in units.items() if 1.0 / 2_000 <= period * size <= 1.0 / SLOWEST_HZ]
        raise InputError(
            f"rows are {period:.3g} s apart on average",
            where=f"{table.path}: column {column}",
            remedy="state the unit of the times by the column's name, such as "
            f"--columns {column}_{(fits or ['ms'])[0]}=NAME",
        )
