"""Every number of two folders of results compared: JSON, tables, arrays, pages and figures."""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np

NUMBERS: Final = (".json", ".csv")
"""Endings of files that people and programs read numbers from."""
EVERYTHING: Final = (*NUMBERS, ".npz", ".parquet", ".html", ".svg", ".md", ".tex", ".toml")
"""Endings of all files of results that are compared."""
LIMIT: Final = 1e-9
"""Differences up to this part of the largest value beside it are rounding."""
_HOW_MADE: Final = re.compile(r"provenance\.json|command-[a-z]+\.json")
_WHERE: Final = {"path", "recording"}
"""Keys and columns that say where a file lay: no part of the result, which has its digest."""
_NUMBER: Final = re.compile(r"(?<![\w.#])[-−+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?(?![\w])")


@dataclass
class FolderComparison:
    """What differs between two folders.

    Attributes
    ----------
    largest : dict of str to float
        Place -> the largest difference, as a part of the larger number, or in a list of the largest in it.
    structure : list of str
        What one of them lacks.
    words : list of str
        Places whose words differ.
    files : int
        Files compared.
    """

    largest: dict[str, float] = field(default_factory=dict)
    structure: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    files: int = 0

    def above(self, limit: float = LIMIT) -> dict[str, float]:
        """Places that differ by more than a limit, the largest difference first."""
        found = {place: value for place, value in self.largest.items() if value > limit}
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    @property
    def same(self) -> bool:
        """Whether nothing differs by more than rounding."""
        return not (self.structure or self.words or self.above())

    @property
    def most(self) -> float:
        """The largest difference of all."""
        return max(self.largest.values(), default=0.0)

    def compare(self, before: Any, after: Any, place: str) -> None:
        """Compare two values; lists by position, places in a list share one line of the report."""
        if isinstance(before, dict) and isinstance(after, dict):
            for key in sorted({*before, *after} - _WHERE):
                if key not in after or key not in before:
                    self.structure.append(f"{place}.{key} only {'before' if key in before else 'after'}")
                elif key == "format" and before[key] != after[key]:
                    self.structure.append(f"{place}.format was {before[key]}, is {after[key]}")
                else:
                    self.compare(before[key], after[key], f"{place}.{key}")
        elif isinstance(before, list) and isinstance(after, list):
            self._compare_lists(before, after, place)
        elif isinstance(before, np.ndarray) and isinstance(after, np.ndarray):
            self._compare_arrays(before, after, place)
        elif _is_number(before) and _is_number(after):
            self._note(place, before, after, max(abs(before), abs(after)))
        elif type(before) is not type(after):
            self.structure.append(f"{place} was {type(before).__name__}, is {type(after).__name__}")
        elif before != after:
            self.words.append(f"{place}: {_short(before)} is now {_short(after)}")

    def _compare_lists(self, before: list[Any], after: list[Any], place: str) -> None:
        if len(before) != len(after):
            self.structure.append(f"{place} had {len(before)} entries, has {len(after)}")
        sizes = [abs(x) for x in (*before, *after) if _is_number(x) and math.isfinite(x)]
        scale = max(sizes, default=0.0)
        for old, new in zip(before, after, strict=False):
            if _is_number(old) and _is_number(new):
                self._note(f"{place}[]", old, new, scale)
            else:
                self.compare(old, new, f"{place}[]")

    def _compare_arrays(self, before: np.ndarray, after: np.ndarray, place: str) -> None:
        if before.shape != after.shape or before.dtype.kind != after.dtype.kind:
            self.structure.append(f"{place} had the shape {before.shape}, has {after.shape}")
        elif before.dtype.kind not in "fiub":
            if not np.array_equal(before, after):
                self.words.append(f"{place} has other words")
        elif before.size:
            old, new = before.astype(float), after.astype(float)
            alike = (old == new) | (np.isnan(old) & np.isnan(new))
            finite = np.isfinite(old) & np.isfinite(new)
            sizes = np.abs(np.concatenate([old[finite], new[finite]]))
            scale = max(float(np.max(sizes, initial=0.0)), 1e-300)
            parts = np.where(finite, np.abs(np.where(finite, new - old, 0.0)) / scale, math.inf)
            self._keep(place, float(np.max(np.where(alike, 0.0, parts))))

    def _note(self, place: str, before: float, after: float, scale: float) -> None:
        if before == after or (math.isnan(before) and math.isnan(after)):
            self._keep(place, 0.0)
        elif not (math.isfinite(before) and math.isfinite(after)):
            self._keep(place, math.inf)
        else:
            self._keep(place, abs(before - after) / scale)

    def _keep(self, place: str, relative: float) -> None:
        self.largest[place] = max(self.largest.get(place, 0.0), relative)


def compare_folders(
    before: Path, after: Path, *, endings: Collection[str] = EVERYTHING, of: Collection[Path] | None = None
) -> FolderComparison:
    """Compare every result file of two folders; those that say when and with what they were made are left out.

    Parameters
    ----------
    before, after : Path
    endings : collection of str
        Of the files that are compared.
    of : collection of Path, optional
        Files, relative to the folders, that alone are compared.
    """
    found = FolderComparison()
    old, new = (
        {path for path in result_files(folder, endings) if of is None or path in of}
        for folder in (before, after)
    )
    found.structure += [f"{path} only {'before' if path in old else 'after'}" for path in sorted(old ^ new)]
    for path in sorted(old & new):
        found.files += 1
        found.compare(content(before / path), content(after / path), str(path))
    return found


def result_files(folder: Path, endings: Collection[str] = EVERYTHING) -> set[Path]:
    """Files of results in a folder, relative to it."""
    found = (path for path in folder.rglob("*") if path.suffix in endings and path.is_file())
    return {path.relative_to(folder) for path in found if not _HOW_MADE.fullmatch(path.name)}


def content(path: Path) -> Any:
    """What a file holds: a document, columns, arrays, or the numbers of a page and the words between them."""
    if path.suffix == ".json":
        return json.loads(path.read_text(encoding="utf-8"))
    if path.suffix == ".npz":
        with np.load(path, allow_pickle=False) as store:
            return dict(store)
    if path.suffix == ".parquet":
        return _columns(path)
    if path.suffix != ".csv":
        text = path.read_text(encoding="utf-8")
        numbers = [float(each.replace("−", "-")) for each in _NUMBER.findall(text)]
        return {"numbers": np.array(numbers), "words": _NUMBER.sub("#", text)}
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {name: [_number(row[name]) for row in rows] for name in (rows[0] if rows else ())}


def _columns(path: Path) -> dict[str, Any]:
    """Columns of a Parquet table, rows in the order of the measurements that they are of."""
    import pandas as pd

    frame = pd.read_parquet(path)
    if "measurement" in frame:
        frame = frame.sort_values("measurement", kind="stable")
    numeric = {name for name in frame if pd.api.types.is_numeric_dtype(frame[name])}
    return {
        str(name): frame[name].to_numpy(dtype=float) if name in numeric else frame[name].astype(str).tolist()
        for name in frame
    }


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}…"
