"""A dataset of many measurements, as Parquet tables, read for a study."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.jobs.study.measured import MACHINE, MeasuredCurve, StudySource
from feltload.coaching import FACTORS, SAME_LOAD_KG
from feltload.core import Floats

if TYPE_CHECKING:
    import pandas as pd

Named = Callable[[str], Mapping[str, str]]
"""Labels that a measurement's name says."""

POSITIONS = ("measurement", MACHINE, "load_kg", "direction", "rotation_deg", "handle_travel_mm", "force_n")
CERTIFICATES = "force_certificates"
STILL, RAISING = "still", "raising"
EMULATED = ", emulated (invented)"


def read_dataset(
    folder: Path, named: Named, load_kg: float | None
) -> tuple[list[MeasuredCurve], list[StudySource]]:
    """Read the measurements of a dataset that `feltload batch` wrote.

    Parameters
    ----------
    folder : Path
    named : callable
        Gives the labels that a measurement's name says; they win over columns of the same names.
    load_kg : float, optional
        The one load that counts.

    Raises
    ------
    UsageError
        It is none, is damaged, or nothing in it was measured with that load.
    """
    profiles, recordings = _table(folder, "profiles"), _table(folder, "recordings")
    by_measurement = recordings.groupby("measurement", sort=False, observed=True)
    digests = by_measurement["sha256"].agg(tuple)
    certificates: Mapping[Any, frozenset[str]] = {}
    if CERTIFICATES in recordings:
        certificates = by_measurement[CERTIFICATES].agg(_joined).to_dict()
    curves: list[MeasuredCurve] = []
    sources: list[StudySource] = []
    for name, rows in profiles.groupby("measurement", sort=False, observed=True):
        first = rows.iloc[0]
        noted = {
            factor: str(first[factor]) for factor in FACTORS if factor in rows and first[factor] is not None
        }
        labels = {**noted, **named(str(name))}
        for load in sorted(float(each) for each in rows["load_kg"].unique()):
            if load_kg is None or abs(load - load_kg) < SAME_LOAD_KG:
                curves.append(_curve(str(name), labels, load, rows[rows["load_kg"] == load]))
        sources.append(
            StudySource(
                measurement=str(name),
                path=str(folder),
                machine=str(first[MACHINE]),
                recordings_sha256=digests.get(name, ()),
                version=str(first["feltload"]),
                invented=_is_invented(first),
                force_certificates=certificates.get(name, frozenset()),
            )
        )
    if not curves:
        raise UsageError(
            "holds no measurement" + ("" if load_kg is None else f" with {load_kg:g} kg"),
            where=str(folder),
            remedy="correct the load, or measure the recordings first",
        )
    kept = {curve.name for curve in curves}
    return curves, [source for source in sources if source.measurement in kept]


def _joined(digests: pd.Series[Any]) -> frozenset[str]:
    """All digests that the recordings of a measurement name."""
    return frozenset(digest for words in digests.dropna() for digest in str(words).split())


def _is_invented(row: pd.Series[Any]) -> bool:
    """As the dataset says; where it does not, by the name that emulated machines have."""
    if "invented" in row:
        return bool(row["invented"])
    return str(row[MACHINE]).endswith(EMULATED)


def _curve(name: str, labels: Mapping[str, str], load_kg: float, rows: pd.DataFrame) -> MeasuredCurve:
    still = rows[rows["direction"] == STILL].sort_values("rotation_deg")
    raising = rows[rows["direction"] == RAISING].sort_values("rotation_deg")
    static = _column(still, "force_n")
    way = _column(still, "handle_travel_mm")
    same = len(raising) == len(still)
    return MeasuredCurve(
        name=name,
        labels=labels,
        load_kg=load_kg,
        rotation_rad=np.radians(_column(still, "rotation_deg")),
        way_m=1e-3 * way if np.isfinite(way).all() else None,
        static_n=static,
        friction_n=_column(raising, "force_n") - static if same else np.full(static.size, np.nan),
    )


def _column(rows: pd.DataFrame, name: str) -> Floats:
    return np.asarray(rows[name].to_numpy(dtype=float))


def _table(folder: Path, name: str) -> pd.DataFrame:
    """One table of the dataset, all its files."""
    try:
        import pyarrow as pa
        import pyarrow.dataset as ds
    except ImportError:
        raise UsageError(
            "needs pyarrow", where=str(folder), remedy='pip install "feltload[parquet]"'
        ) from None
    files = sorted((folder / name).glob("*.parquet"))
    if not files:
        raise UsageError(
            f"holds no table {name}", where=str(folder), remedy="name the folder that `feltload batch` wrote"
        )
    try:
        frame: pd.DataFrame = ds.dataset([str(file) for file in files]).to_table().to_pandas()
    except (pa.ArrowException, OSError, ValueError) as error:
        raise UsageError(
            f"its table {name} cannot be read ({str(error).splitlines()[0]})",
            where=str(folder),
            remedy="run the batch again",
        ) from error
    needed = POSITIONS if name == "profiles" else ("measurement", "sha256")
    lacking = [column for column in needed if column not in frame]
    if lacking:
        raise UsageError(
            f"its table {name} has no column {lacking[0]}",
            where=str(folder),
            remedy="name the folder that `feltload batch` wrote",
        )
    return frame
