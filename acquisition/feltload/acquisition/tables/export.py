"""Recordings as tidy CSV and Parquet, and motion as C3D, for other programs."""

from __future__ import annotations

import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from feltload.acquisition.recording.recording import Recording
from feltload.core import InputError, replacing, write_file

__all__ = ["export_recording", "write_c3d"]


def export_recording(
    recording: Recording,
    folder: str | Path,
    *,
    format: Literal["csv", "parquet"] = "csv",
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
        if format == "parquet":
            try:
                with replacing(target, private=private) as part:
                    frame.to_parquet(part, index=False)
            except ImportError:
                raise InputError(
                    "Parquet needs pyarrow", where=str(target), remedy='pip install "feltload[parquet]"'
                ) from None
        else:
            with replacing(target, private=private) as part:
                frame.to_csv(part, index=False, float_format="%.9g")
    columns = ["kind", "start_s", "until_s", "text"]
    rows = [(mark.kind, mark.start_s, mark.until_s, mark.text) for mark in recording.marks]
    write_file(marks_path, pd.DataFrame(rows, columns=columns).to_csv(index=False), private=private)
    info = recording.info
    session = {
        "load_kg": info.load_kg,
        "load_u_kg": info.load_u_kg,
        "side": info.side,
        "tempo": info.tempo,
        "notes": info.notes,
        "kind": info.kind,
        "invented": info.rig.invented,
        "started_utc": info.started_utc,
        "damage": [fact.to_dict() for fact in recording.damage],
        "health": {name: health.to_dict() for name, health in recording.health.items()},
    }
    write_file(info_path, json.dumps(session, indent=1) + "\n", private=private)
    return [*targets, marks_path, info_path]


def write_c3d(
    path: str | Path,
    force_n: ArrayLike,
    angle_rad: ArrayLike,
    *,
    rate_hz: float,
    overwrite: bool = False,
    private: bool = False,
) -> None:
    """Write force and angle as analog channels of a C3D file.

    Parameters
    ----------
    path : path
    force_n, angle_rad : array, shape (n,)
        On one uniform clock, tared and aligned.
    rate_hz : float
    overwrite : bool
    private : bool
        Only the owner may read the file.

    Raises
    ------
    InputError
        Lengths differ, values are not finite, the file exists, or the extra is not installed.

    Notes
    -----
    Channels "force" in N and "angle" in deg, stored as floats, so their scale is 1.
    """
    path = Path(path)
    values = [np.asarray(force_n, dtype=float), np.rad2deg(np.asarray(angle_rad, dtype=float))]
    if values[0].ndim != 1 or values[0].shape != values[1].shape or not values[0].size:
        raise InputError("force and angle must be equally long and not empty", where=str(path))
    if not all(np.isfinite(channel).all() for channel in values):
        raise InputError("force and angle must be finite", where=str(path), remedy="leave out the gaps")
    if path.exists() and not overwrite:
        raise InputError("exists already", where=str(path), remedy="choose another name, or ask to overwrite")
    try:
        import ezc3d
    except ImportError:
        raise InputError("C3D needs ezc3d", where=str(path), remedy='pip install "feltload[c3d]"') from None
    file = ezc3d.c3d()
    file["parameters"]["POINT"]["RATE"]["value"] = [float(rate_hz)]
    analog = file["parameters"]["ANALOG"]
    analog["RATE"]["value"] = [float(rate_hz)]
    analog["LABELS"]["value"] = ["force", "angle"]
    analog["UNITS"]["value"] = ["N", "deg"]
    # No markers, but as many frames: the writer divides by their number.
    file["data"]["points"] = np.zeros((4, 0, values[0].size))
    file["data"]["analogs"] = np.stack(values)[None]
    # The library puts its own ending on any name that lacks it.
    with TemporaryDirectory() as scratch:
        made = Path(scratch) / "motion.c3d"
        file.write(str(made))
        write_file(path, made.read_bytes(), private=private)
