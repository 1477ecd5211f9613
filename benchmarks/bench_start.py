"""What a command and a notebook pay before they compute: processor time as a ratio to that of bare imports.

    python benchmarks/bench_start.py

Each side is a process of its own, run in turn with the other, its modules compiled before as an installation has them;
the least of several runs counts, since a busy machine only adds.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

RECORDINGS = Path(__file__).parents[1] / "recordings"
RUNS = 7

LIBRARIES = "import pandas, scipy.signal, scipy.optimize, matplotlib.pyplot"
NOTEBOOK_LIBRARIES = "import numpy, scipy, pandas"
API = (
    "from feltload.signal import ProfileEstimate, load_results; "
    "from feltload.acquisition import read_recording; "
    "from feltload.calibration import parse_machine"
)


def processor_s(words: Sequence[str], compiled: Path) -> float:
    """Processor time of one process, user and system."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONPYCACHEPREFIX": str(compiled)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], check=True, capture_output=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def ratio(name: str, ours: Sequence[str], theirs: Sequence[str], aim: float, compiled: Path) -> None:
    pairs = [[processor_s(words, compiled) for words in (ours, theirs)] for _ in range(RUNS + 1)]
    # The first pair compiles.
    ours_s, theirs_s = np.min(pairs[1:], axis=0)
    print(f"| {name} | {ours_s:.2f} | {theirs_s:.2f} | {ours_s / theirs_s:.2f} | {aim:g} |", flush=True)


def main() -> None:
    argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter).parse_args()
    print("| what | ours s | imports alone s | ratio | aim |")
    print("|" + " --- |" * 5)
    with tempfile.TemporaryDirectory() as scratch:
        compiled = Path(scratch, "compiled")
        profile = ["-m", "feltload.app", "profile", "--out", str(Path(scratch, "out")), "--force-overwrite"]
        recordings = [str(RECORDINGS / f"lever-row-{kg}kg.mcap") for kg in (20, 40)]
        ratio(
            "`feltload profile` of two recordings", [*profile, *recordings], ["-c", LIBRARIES], 1.5, compiled
        )
        ratio("importing the Python interface", ["-c", API], ["-c", NOTEBOOK_LIBRARIES], 1.3, compiled)


if __name__ == "__main__":
    main()
