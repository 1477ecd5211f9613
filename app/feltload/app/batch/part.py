"""One part of a batch, made in a worker: measurements in, the bytes of its files out."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.batch.columns import Table, schema
from feltload.app.batch.plan import Planned
from feltload.app.batch.rows import Columns, failure_rows, rows_of
from feltload.app.files.provenance import software_revision, software_version
from feltload.app.text.facts import error_line

if TYPE_CHECKING:
    import pyarrow as pa

Rows = dict[Table, list[Columns]]


@dataclass(frozen=True)
class PartFiles:
    """Files of one part.

    Attributes
    ----------
    files : dict of Table to bytes
    failures : dict of str to str
        Measurement that could not be made -> the reason.
    """

    files: Mapping[Table, bytes]
    failures: Mapping[str, str]


def measure_one(planned: Planned) -> Rows:
    """Rows of one measurement; of one that cannot be made, the row with its reason."""
    try:
        return rows_of(planned, planned.request.measure())
    except Exception as error:  # one bad recording does not stop the others, whatever is wrong with it
        return failed(planned, error_line(error))


def failed(planned: Planned, reason: str) -> Rows:
    """Rows of a measurement that could not be made."""
    return failure_rows(planned, reason, software_version(), software_revision())


def make_part(
    measurements: Sequence[Planned], labels: tuple[str, ...], measure: Callable[[Planned], Rows] = measure_one
) -> PartFiles:
    """Measure the measurements of one part, one after the other."""
    return pack_part([measure(planned) for planned in measurements], labels)


def pack_part(rows: Sequence[Rows], labels: tuple[str, ...]) -> PartFiles:
    """Files of the rows of measurements, in their order."""
    failures = {
        row["measurement"]: row["reason"]
        for of_one in rows
        for row in of_one[Table.MEASUREMENTS]
        if row["reason"]
    }
    files = {
        table: _file(table, [block for of_one in rows for block in of_one[table]], labels) for table in Table
    }
    return PartFiles(files, failures)


def _file(table: Table, blocks: Sequence[Columns], labels: tuple[str, ...]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    columns = schema(table, labels)
    tables = [_arrow(block, columns) for block in blocks]
    whole = pa.concat_tables(tables).unify_dictionaries() if tables else columns.empty_table()
    out = io.BytesIO()
    pq.write_table(whole.combine_chunks(), out, compression="zstd")
    return out.getvalue()


def _arrow(block: Columns, columns: pa.Schema) -> pa.Table:
    import pyarrow as pa

    length = max((len(value) for value in block.values() if isinstance(value, np.ndarray)), default=1)
    arrays = []
    for field in columns:
        value = block.get(field.name)
        if isinstance(value, np.ndarray):
            arrays.append(pa.array(value, field.type, from_pandas=True))
        elif pa.types.is_dictionary(field.type):
            keys = pa.array([None if value is None else 0] * length, field.type.index_type)
            words = pa.array([] if value is None else [value], field.type.value_type)
            arrays.append(pa.DictionaryArray.from_arrays(keys, words))
        else:
            arrays.append(pa.array([value] * length, field.type, from_pandas=True))
    return pa.Table.from_arrays(arrays, schema=columns)
