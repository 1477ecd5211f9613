"""What a prediction costs: processor time as a ratio to that of importing its libraries.

    python benchmarks/bench_predict.py

Two loads with the band, with and without the page, and with thirty variants; each side is a process of its own, run in
turn with the other; the least of several runs counts.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from bench_start import LIBRARIES, RECORDINGS, ratio
from feltload.calibration import example_text

COMPUTING = "import numpy, scipy.sparse, pandas"
"""What a prediction without a page computes with."""


def main() -> None:
    argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter).parse_args()
    print("| what | ours s | imports alone s | ratio | aim |")
    print("|" + " --- |" * 5)
    with tempfile.TemporaryDirectory() as scratch:
        compiled = Path(scratch, "compiled")
        press = Path(scratch, "press.toml")
        press.write_text(example_text("four-bar"), encoding="utf-8")
        out = ["--out", str(Path(scratch, "out")), "--force-overwrite"]
        loads = ["--load", "20 kg", "--load", "40 kg"]
        lever = ["-m", "feltload.app", "predict", str(RECORDINGS / "lever-row.toml"), *loads]
        varied = ["--vary", "plates.radius=200:345:5"]
        for name, words, libraries in (
            ("a lever, on the terminal", lever, COMPUTING),
            ("a four-bar linkage, on the terminal", [*lever[:3], str(press), *loads], COMPUTING),
            ("a lever, with its page", [*lever, *out], LIBRARIES),
            ("a lever with 30 variants, with its page", [*lever, *varied, *out], LIBRARIES),
        ):
            ratio(name, words, ["-c", libraries], 1.0, compiled)


if __name__ == "__main__":
    main()
