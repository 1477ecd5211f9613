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
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from feltload.app.jobs.remaking.comparing import LIMIT, NUMBERS, compare_folders, result_files

RECORDINGS = Path(__file__).resolve().parents[1] / "recordings"
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
            elif not result_files(folder, NUMBERS):
                sys.exit(f"compare_results: {folder}: neither a checkout nor a folder of results")
            folders.append(folder)
        found = compare_folders(*folders, endings=NUMBERS)
    for title, lines in (("structure changed", found.structure), ("words changed", found.words)):
        print(f"{title}: {len(lines) or 'nothing'}", *lines, sep="\n  ")
    above = found.above(given.limit)
    print(f"{len(found.largest)} numbers compared, {len(above)} differ by more than {given.limit:g}")
    for place, value in above.items():
        print(f"  {value:.1e}  {place}")
    print(f"largest relative difference: {found.most:.1e}")
    return 1 if above or not found.largest else 0


if __name__ == "__main__":
    sys.exit(main())
