"""Compares results of the shipped recordings between two states of the code, number by number.

    python tools/compare_results.py BEFORE AFTER

BEFORE and AFTER are checkouts, whose code is run on the recordings of this checkout, or folders that an earlier run
kept (`--keep FOLDER`). Compared is every number of `profile.csv`, `profile.json`, `agreement.json`, `capacity.json` and
of what the client commands and `compare` print as JSON. A difference is relative to the larger number; in a list of
numbers or a column, to the largest of it, so that a rounding error near zero does not count as a change. Keys that only
one side has are reported as changed structure. Ends with exit code 1 above `--limit` or when a result is missing.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

RECORDINGS = Path(__file__).resolve().parents[1] / "recordings"
LIMIT = 1e-9
MASS = "40 kg"


def commands(out: Path) -> Iterator[tuple[list[str], str | None]]:
    """Words of every command, and the file that keeps its standard output, if any."""
    given = {path.stem: str(path) for path in RECORDINGS.iterdir() if path.suffix == ".mcap"}
    profiles = {
        "row": ("lever-row-20kg", "lever-row-40kg"),
        "row20": ("lever-row-20kg",),
        "row40": ("lever-row-40kg",),
        "peg": ("peg-out-20kg", "peg-out-40kg"),
    }
    for name, names in profiles.items():
        yield ["profile", *(given[each] for each in names), "--out", str(out / name)], None
        yield ["check", str(out / name), "--machine", str(RECORDINGS / "lever-row.toml")], None
    row, capacity = str(out / "row"), str(out / "capacity.json")
    yield ["client", "capacity", given["client-holds"], "--out", capacity], None
    yield ["client", "match", row, capacity, "--load", MASS, "--json"], "match.json"
    yield ["client", "plan", row, capacity, "--load", MASS, "--target", "0.7", "--json"], "plan.json"
    yield ["client", "delivered", row, given["partner-help-40kg"], "--json"], "delivered.json"
    yield ["compare", str(out / "row40"), str(out / "row20"), "--json"], "compare.json"


def make_results(checkout: Path, out: Path) -> None:
    """Run the checkout's code on the recordings."""
    roots = sorted(str(path.parent) for path in checkout.glob("*/feltload"))
    if not roots:
        sys.exit(f"compare_results: {checkout}: neither a checkout nor a folder of results")
    out.mkdir(parents=True, exist_ok=True)
    # Ahead of an installed package, so that the code of that checkout is what runs.
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(roots), "OPENBLAS_NUM_THREADS": "1"}
    for words, kept in commands(out):
        done = subprocess.run(
            [sys.executable, "-m", "feltload.app", *words],
            env=env,
            capture_output=True,
            text=True,
            check=False,
        )
        # `check` ends with 1 where measurement and model differ; that is a result too.
        if done.returncode not in (0, 1):
            sys.exit(f"compare_results: {checkout}: feltload {' '.join(words)}: {done.stderr.strip()}")
        if kept is not None:
            (out / kept).write_text(done.stdout, encoding="utf-8")


def content(path: Path) -> Any:
    """A JSON document, or the columns of a CSV file."""
    if path.suffix == ".json":
        return json.loads(path.read_text(encoding="utf-8"))
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {name: [_number(row[name]) for row in rows] for name in (rows[0] if rows else ())}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


@dataclass
class Comparison:
    """What differs: the largest relative difference by place, and what cannot be compared."""

    largest: dict[str, float] = field(default_factory=dict)
    structure: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    def compare(self, before: Any, after: Any, place: str) -> None:
        """Compare two values; lists by position, places in a list share one line of the report."""
        if isinstance(before, dict) and isinstance(after, dict):
            for key in sorted({*before, *after}):
                if key not in after or key not in before:
                    self.structure.append(f"{place}.{key} only {'before' if key in before else 'after'}")
                elif key == "format" and before[key] != after[key]:
                    self.structure.append(f"{place}.format was {before[key]}, is {after[key]}")
                else:
                    self.compare(before[key], after[key], f"{place}.{key}")
        elif isinstance(before, list) and isinstance(after, list):
            self._compare_lists(before, after, place)
        elif is_number(before) and is_number(after):
            self._note(place, before, after, max(abs(before), abs(after)))
        elif type(before) is not type(after):
            self.structure.append(f"{place} was {type(before).__name__}, is {type(after).__name__}")
        elif before != after:
            self.words.append(f"{place}: {before!r} is now {after!r}")

    def _compare_lists(self, before: list[Any], after: list[Any], place: str) -> None:
        if len(before) != len(after):
            self.structure.append(f"{place} had {len(before)} entries, has {len(after)}")
        sizes = [abs(x) for x in (*before, *after) if is_number(x) and math.isfinite(x)]
        scale = max(sizes, default=0.0)
        for old, new in zip(before, after, strict=False):
            if is_number(old) and is_number(new):
                self._note(f"{place}[]", old, new, scale)
            else:
                self.compare(old, new, f"{place}[]")

    def _note(self, place: str, before: float, after: float, scale: float) -> None:
        if before == after or (math.isnan(before) and math.isnan(after)):
            relative = 0.0
        elif not (math.isfinite(before) and math.isfinite(after)):
            relative = math.inf
        else:
            relative = abs(before - after) / scale
        self.largest[place] = max(self.largest.get(place, 0.0), relative)


def result_files(folder: Path) -> set[Path]:
    """Results that hold numbers; provenance says when and with what, which differs by nature."""
    found = {path.relative_to(folder) for kind in ("*.json", "*.csv") for path in folder.rglob(kind)}
    return {path for path in found if path.name != "provenance.json"}


def compare_folders(before: Path, after: Path) -> Comparison:
    """Compare every result file of two folders."""
    comparison = Comparison()
    old, new = result_files(before), result_files(after)
    comparison.structure += [
        f"{path} only {'before' if path in old else 'after'}" for path in sorted(old ^ new)
    ]
    for path in sorted(old & new):
        comparison.compare(content(before / path), content(after / path), str(path))
    return comparison


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("before", type=Path, metavar="BEFORE")
    parser.add_argument("after", type=Path, metavar="AFTER")
    parser.add_argument(
        "--limit", type=float, default=LIMIT, help=f"largest relative difference (default {LIMIT})"
    )
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the results of checkouts here")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folders = []
        for side in ("before", "after"):
            folder: Path = getattr(given, side).resolve()
            if (folder / "pyproject.toml").exists():
                results = (given.keep or Path(scratch)).resolve() / side
                make_results(folder, results)
                folder = results
            elif not result_files(folder):
                sys.exit(f"compare_results: {folder}: neither a checkout nor a folder of results")
            folders.append(folder)
        found = compare_folders(*folders)
    for title, lines in (("structure changed", found.structure), ("words changed", found.words)):
        print(f"{title}: {len(lines) or 'nothing'}", *lines, sep="\n  ")
    above = {place: value for place, value in found.largest.items() if value > given.limit}
    print(f"{len(found.largest)} numbers compared, {len(above)} differ by more than {given.limit:g}")
    for place, value in sorted(above.items(), key=lambda item: -item[1]):
        print(f"  {value:.1e}  {place}")
    print(f"largest relative difference: {max(found.largest.values(), default=0.0):.1e}")
    return 1 if above or not found.largest else 0


if __name__ == "__main__":
    sys.exit(main())
