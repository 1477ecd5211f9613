"""The dataset's tables: what columns each has, and of which kind."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import pyarrow as pa


class Table(StrEnum):
    """Tables of a dataset, each a folder of files."""

    PROFILES = "profiles"
    """A row per measurement, load, position and direction."""
    SCALARS = "scalars"
    """A row per measurement and load."""
    RECORDINGS = "recordings"
    """A row per recording."""
    MEASUREMENTS = "measurements"
    """A row per measurement, failed ones with the reason; its files are written last."""


class Kind(StrEnum):
    """What a column holds."""

    WORD = "word"
    """One of few texts, kept once."""
    TEXT = "text"
    NUMBER = "number"
    COUNT = "count"
    FLAG = "flag"


DIRECTIONS: Final = ("still", "raising", "lowering")

_MADE_BY: Final = {
    "invented": Kind.FLAG,
    "inputs_sha256": Kind.WORD,
    "feltload": Kind.WORD,
    "revision": Kind.WORD,
}
"""Provenance of each row: whether it is of an emulated machine, digest of all that it was made from, version and
revision of the software."""

COLUMNS: Final[Mapping[Table, Mapping[str, Kind]]] = {
    Table.PROFILES: {
        "measurement": Kind.WORD,
        "machine": Kind.WORD,
        "load_kg": Kind.NUMBER,
        "direction": Kind.WORD,
        "rotation_deg": Kind.NUMBER,
        "angle_deg": Kind.NUMBER,
        "travel_percent": Kind.NUMBER,
        "handle_travel_mm": Kind.NUMBER,
        "force_n": Kind.NUMBER,
        "force_u95_n": Kind.NUMBER,
        "passes": Kind.COUNT,
        **_MADE_BY,
    },
    Table.SCALARS: {
        "measurement": Kind.WORD,
        "machine": Kind.WORD,
        "load_kg": Kind.NUMBER,
        "shape": Kind.WORD,
        "peak_n": Kind.NUMBER,
        "peak_u95_n": Kind.NUMBER,
        "peak_travel_percent": Kind.NUMBER,
        "low_n": Kind.NUMBER,
        "low_travel_percent": Kind.NUMBER,
        "end_n": Kind.NUMBER,
        "drop_off_percent": Kind.NUMBER,
        "mean_n": Kind.NUMBER,
        "mean_u95_n": Kind.NUMBER,
        "friction_n": Kind.NUMBER,
        "friction_u95_n": Kind.NUMBER,
        "inertia_n_per_rad_s2": Kind.NUMBER,
        "repetitions": Kind.COUNT,
        "residual_n": Kind.NUMBER,
        **_MADE_BY,
    },
    Table.RECORDINGS: {
        "measurement": Kind.WORD,
        "recording": Kind.TEXT,
        "sha256": Kind.TEXT,
        "load_kg": Kind.NUMBER,
        "started_utc": Kind.TEXT,
        "damaged": Kind.COUNT,
        "force_certificates": Kind.TEXT,
        **_MADE_BY,
    },
    Table.MEASUREMENTS: {
        "measurement": Kind.TEXT,
        "outcome": Kind.WORD,
        "reason": Kind.TEXT,
        "machine": Kind.WORD,
        "loads": Kind.COUNT,
        "doubts": Kind.TEXT,
        **_MADE_BY,
    },
}
"""Table -> column -> its kind."""

LABELLED: Final = (Table.PROFILES, Table.SCALARS, Table.MEASUREMENTS)
"""Tables that carry the labels of a plan after their own columns."""


def schema(table: Table, labels: tuple[str, ...]) -> pa.Schema:
    """Columns of a table's files, the same in each of them."""
    import pyarrow as pa

    types: dict[Kind, Any] = {
        Kind.WORD: pa.dictionary(pa.int32(), pa.string()),
        Kind.TEXT: pa.string(),
        Kind.NUMBER: pa.float64(),
        Kind.COUNT: pa.int64(),
        Kind.FLAG: pa.bool_(),
    }
    columns = dict(COLUMNS[table])
    if table in LABELLED:
        columns |= dict.fromkeys(labels, Kind.WORD)
    return pa.schema([(name, types[kind]) for name, kind in columns.items()])
