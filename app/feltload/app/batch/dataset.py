"""The dataset on disk: which parts there are, which are done, and how a part is added whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from feltload.app.batch.columns import LABELLED, Table, schema
from feltload.app.batch.part import PartFiles
from feltload.app.batch.plan import Planned
from feltload.app.batch.rows import FAILED
from feltload.app.errors import OutputExistsError, UsageError
from feltload.core import replacing, write_file

PLAN: Final = "plan.parquet"
ABOUT: Final = "dataset.json"
FORMAT: Final = 2

_PARTS: Final = 200
"""Parts that a batch is cut into: a stop costs a two-hundredth of it, and no more for each core that works."""
_LARGEST_PART: Final = 500
"""Measurements of one part at most: a few megabytes in a file."""


@dataclass(frozen=True)
class Part:
    """Measurements whose results share a file in each table.

    Attributes
    ----------
    number : int
    measurements : tuple of Planned
    """

    number: int
    measurements: tuple[Planned, ...]


class Dataset:
    """A dataset that is there already, or begins now.

    Parameters
    ----------
    folder : Path

    Attributes
    ----------
    labels : tuple of str
        Columns of the plan's own.
    parts : tuple of Part
        All of it, done or not, in their order.
    """

    def __init__(self, folder: Path, parts: Sequence[Part], labels: tuple[str, ...]) -> None:
        self.folder, self.parts, self.labels = folder, tuple(parts), labels

    @classmethod
    def open(cls, folder: Path, planned: Sequence[Planned], *, overwrite: bool = False) -> Dataset:
        """Begin it, or go on with one of the same plan; measurements that it does not know yet come after the others.

        Raises
        ------
        OutputExistsError
            The folder holds something else.
        UsageError
            It was begun with other options, or other files of the same names.
        """
        labels = tuple(sorted({name for item in planned for name in item.labels}))
        _require_free_names(labels)
        if folder.exists() and not (folder / PLAN).is_file() and any(folder.iterdir()):
            raise OutputExistsError(folder)
        if overwrite:
            _remove_files(folder)
        known = _read_plan(folder, labels) if (folder / PLAN).is_file() else {}
        by_number: dict[int, list[Planned]] = {}
        new: list[Planned] = []
        for item in planned:
            if item.name not in known:
                new.append(item)
                continue
            number, key = known[item.name]
            if key != item.key:
                raise UsageError(
                    f'"{item.name}" was begun with other options, or its recordings were of another size',
                    where=str(folder),
                    remedy="choose another --out, or begin again with --force-overwrite",
                )
            by_number.setdefault(number, []).append(item)
        size = min(_LARGEST_PART, -(-len(new) // _PARTS) or 1)
        first = 1 + max((number for number, _ in known.values()), default=-1)
        for k in range(0, len(new), size):
            by_number[first + k // size] = new[k : k + size]
        parts = [Part(number, tuple(items)) for number, items in sorted(by_number.items())]
        dataset = cls(folder, parts, labels)
        dataset._begin(known)
        return dataset

    def _begin(self, known: dict[str, tuple[int, str]]) -> None:
        """Write the plan before anything is measured, and clear what a kill left half written."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        for table in Table:
            (self.folder / table).mkdir(parents=True, exist_ok=True)
            for left in (self.folder / table).glob(".*.part"):
                left.unlink()
        plan = known | {
            item.name: (part.number, item.key) for part in self.parts for item in part.measurements
        }
        rows = {
            "measurement": list(plan),
            "part": [number for number, _ in plan.values()],
            "key": [key for _, key in plan.values()],
        }
        with replacing(self.folder / PLAN) as path:
            pq.write_table(pa.table(rows), path)
        about = {"format": FORMAT, "labels": self.labels, "measurements": len(plan)}
        write_file(self.folder / ABOUT, json.dumps(about, indent=1) + "\n")

    def path(self, table: Table, number: int) -> Path:
        """File of one part in one table."""
        return self.folder / table / f"part-{number:05d}.parquet"

    def unfinished(self, *, retry_failed: bool = False) -> list[Part]:
        """Parts that are not done; with `retry_failed` also the failed measurements' parts."""
        return [
            part
            for part in self.parts
            if not self.path(Table.MEASUREMENTS, part.number).is_file()
            or (retry_failed and self.failures(part.number))
        ]

    def add(self, part: Part, made: PartFiles) -> None:
        """Write a part; the file that says that it is done comes last."""
        for table in Table:
            write_file(self.path(table, part.number), made.files[table])

    def failures(self, number: int) -> dict[str, str]:
        """Measurements of a finished part that could not be made -> the reason."""
        import pyarrow.parquet as pq

        columns = ["measurement", "outcome", "reason"]
        rows = pq.read_table(self.path(Table.MEASUREMENTS, number), columns=columns).to_pylist()
        return {row["measurement"]: row["reason"] for row in rows if row["outcome"] == FAILED}

    def all_failures(self) -> dict[str, str]:
        """Every measurement that could not be made so far -> the reason."""
        found: dict[str, str] = {}
        for part in self.parts:
            if self.path(Table.MEASUREMENTS, part.number).is_file():
                found |= self.failures(part.number)
        return found


def _require_free_names(labels: Sequence[str]) -> None:
    for table in LABELLED:
        taken = set(labels) & set(schema(table, ()).names)
        if taken:
            raise UsageError(
                f'label "{min(taken)}" is a column of the dataset itself',
                where="labels",
                remedy="call it otherwise",
            )


def _read_plan(folder: Path, labels: tuple[str, ...]) -> dict[str, tuple[int, str]]:
    """Measurement -> its part and key."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        about = json.loads((folder / ABOUT).read_text(encoding="utf-8"))
        rows = pq.read_table(folder / PLAN).to_pylist()
        if about["format"] > FORMAT:
            raise UsageError("is of a newer format", where=str(folder / ABOUT), remedy="update feltload")
        if about["format"] < FORMAT:
            raise UsageError(
                "was begun by an older version, whose rows lack columns",
                where=str(folder / ABOUT),
                remedy="choose another --out, or begin again with --force-overwrite",
            )
        kept = tuple(about["labels"])
        plan = {row["measurement"]: (row["part"], row["key"]) for row in rows}
    except (OSError, ValueError, KeyError, TypeError, pa.ArrowException) as error:
        raise UsageError(
            "is damaged, so it cannot be gone on with",
            where=str(folder / PLAN),
            remedy="choose another --out, or begin again with --force-overwrite",
        ) from error
    if kept != labels:
        raise UsageError(
            f"was begun with the labels {', '.join(kept) or 'none'}, now they are {', '.join(labels) or 'none'}",
            where=str(folder),
            remedy="choose another --out, or begin again with --force-overwrite",
        )
    return plan


def _remove_files(folder: Path) -> None:
    """Remove what a dataset consists of, and nothing else."""
    for path in [
        folder / PLAN,
        folder / ABOUT,
        *(p for table in Table for p in (folder / table).glob("part-*.parquet")),
    ]:
        path.unlink(missing_ok=True)
