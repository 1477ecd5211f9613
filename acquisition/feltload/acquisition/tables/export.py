"""Recordings as tidy CSV and Parquet for other programs, with everything that is known of the session."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path
from typing import Literal

import pandas as pd

from feltload.acquisition.recording.recording import Recording
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import InputError, replacing, write_file

__all__ = ["export_recording", "write_table"]

TableFormat = Literal["csv", "parquet"]

_HOST_TIMES = {"arrival": "arrival", "column": "arrival-stamped-by-logger", "common": "sample"}


def export_recording(
    recording: Recording,
    folder: str | Path,
    *,
    format: TableFormat = "csv",
    joined: Mapping[str, object] | None = None,
    overwrite: bool = False,
) -> list[Path]:
    """Write every stream as a table, with marks, health and what was said about the session.

    Parameters
    ----------
    recording : Recording
    folder : path
        Made if it does not exist.
    format : {"csv", "parquet"}
        Parquet needs the extra ``feltload[parquet]``.
    joined : mapping, optional
        What recording.json shall say of tables on one clock that are written beside these, by file name.
    overwrite : bool

    Returns
    -------
    list of Path
        STREAM.csv or STREAM.parquet for each stream, marks.csv, recording.json.

    Raises
    ------
    InputError
        A file exists, or the extra is not installed.
    """
    folder = Path(folder)
    names = [stream.name for stream in recording.info.rig.streams]
    targets = [folder / f"{name}.{format}" for name in names]
    marks_path, info_path = folder / "marks.csv", folder / "recording.json"
    if not overwrite:
        for target in (*targets, marks_path, info_path):
            if target.exists():
                raise InputError(
                    "exists already", where=str(target), remedy="choose another folder, or ask to overwrite"
                )
    private = recording.info.is_about_a_person
    folder.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    for name, target in zip(names, targets, strict=True):
        # Counts stay counts where no certificate makes a force of them.
        frame = recording.stream(name, raw=recording.certificate(name) is None)
        write_table(frame, target, format=format, private=private)
    columns = ["kind", "start_s", "until_s", "text"]
    rows = [(mark.kind, mark.start_s, mark.until_s, mark.text) for mark in recording.marks]
    write_file(marks_path, pd.DataFrame(rows, columns=columns).to_csv(index=False), private=private)
    known = {**_session(recording), "joined": dict(joined or {})}
    write_file(info_path, json.dumps(known, indent=1) + "\n", private=private)
    return [*targets, marks_path, info_path]


def write_table(frame: pd.DataFrame, path: Path, *, format: TableFormat, private: bool = False) -> None:
    """Write a table, whole or not at all; an absent value is an empty cell.

    Raises
    ------
    InputError
        Parquet is asked for and its extra is not installed.
    """
    with replacing(path, private=private) as part:
        if format == "csv":
            frame.to_csv(part, index=False, float_format="%.9g")
            return
        try:
            frame.to_parquet(part, index=False)
        except ImportError:
            raise InputError(
                "Parquet needs pyarrow", where=str(path), remedy='pip install "feltload[parquet]"'
            ) from None


def _session(recording: Recording) -> dict[str, object]:
    """Everything that is known of a recording, as plain values for JSON."""
    info = recording.info
    return {
        "software": {"name": "feltload", "version": version("feltload")},
        "samples_sha256": recording.samples_sha256,
        "load_kg": info.load_kg,
        "load_u_kg": info.load_u_kg,
        "load_stated": info.load_stated,
        "side": info.side,
        "tempo": info.tempo,
        "notes": info.notes,
        "kind": info.kind,
        "invented": info.rig.invented,
        "started_utc": info.started_utc,
        "clocks": {stream.name: _clocks(stream) for stream in info.rig.streams},
        "rig": info.rig.model_dump(mode="json", exclude_defaults=True),
        "machine": None if info.machine_toml is None else _machine(info.machine_toml),
        "certificates": {name: json.loads(text) for name, text in sorted(info.certificates.items())},
        "damage": [fact.to_dict() for fact in recording.damage],
        "health": {name: health.to_dict() for name, health in recording.health.items()},
    }


def _clocks(stream: StreamDescription) -> dict[str, object]:
    """What the times in a stream's table are."""
    clock, number = stream.field("device_time"), stream.field("seq")
    return {
        "host_s": _HOST_TIMES[stream.timing],
        "device_s": None if clock is None else "sensor-clock",
        "device_tick_s": None if clock is None else clock.si_factor,
        "device_wrap": None if clock is None else clock.counter_size,
        "seq": None if number is None else "sample-number",
        "seq_wrap": None if number is None else number.counter_size,
    }


def _machine(text: str) -> dict[str, object]:
    """The machine file: as it was given, and its values where it can be read."""
    try:
        values: dict[str, object] | None = json.loads(json.dumps(tomllib.loads(text), default=str))
    except tomllib.TOMLDecodeError:
        values = None
    return {"toml": text, "values": values}
