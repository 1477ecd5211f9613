"""The lines for R and Octave in docs/r-and-matlab.md, run as they are printed where these programs are installed."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pandas as pd
import pytest

from source_tree import ROOT

PAGE = (ROOT / "docs" / "r-and-matlab.md").read_text(encoding="utf-8")


def lines(language: str, holding: str) -> str:
    """The first block of a language that holds a word."""
    blocks = re.findall(rf"```{language}\n(.*?)```", PAGE, flags=re.DOTALL)
    return next(block for block in blocks if holding in block)


def peak(folder: Path) -> float:
    table = pd.read_csv(folder / "row" / "profile.csv")
    return float(table.loc[table["load_kg"] == 40.0, "static_n"].max())


@pytest.fixture
def folder(measured_row, tmp_path) -> Path:
    """The result, with a cell that was not measured."""
    shutil.copytree(measured_row, tmp_path / "row")
    path = tmp_path / "row" / "profile.csv"
    rows = path.read_text(encoding="utf-8").splitlines()
    cells = rows[1].split(",")
    cells[rows[0].split(",").index("friction_n")] = ""
    path.write_text("\n".join([rows[0], ",".join(cells), *rows[2:]]) + "\n", encoding="utf-8")
    return tmp_path


def test_r(folder) -> None:
    program = shutil.which("Rscript")
    if program is None:
        pytest.skip("R is not installed: the page's lines for R were NOT run")
    code = lines("r", "lines(one").replace(
        "summary <-", "missing <- is.na(profile$friction_n[1])\nsummary <-"
    )
    if subprocess.run([program, "-e", "library(jsonlite)"], capture_output=True, check=False).returncode:
        code = code[: code.index("summary <-")]
    code += '\ncat("peak", max(one$static_n), missing)\n'
    done = subprocess.run(
        [program, "-e", code], cwd=folder, capture_output=True, text=True, check=False, timeout=100
    )
    assert done.returncode == 0, done.stderr
    found = re.search(r"peak ([\d.]+) TRUE", done.stdout)
    assert found is not None
    assert float(found[1]) == pytest.approx(peak(folder))


def test_octave(folder) -> None:
    program = shutil.which("octave")
    if program is None:
        pytest.skip("Octave is not installed: the page's lines for Octave were NOT run")
    # Without a screen or fonts there is nothing to draw on.
    code = "\n".join(
        line for line in lines("octave", "dlmread").splitlines() if not re.match(r"plot|hold|xlabel", line)
    )
    (folder / "lines.m").write_text(
        code + '\nprintf("peak %.6f %d\\n", max(static), isnan(column("friction_n")(1)));\n', encoding="utf-8"
    )
    words = [program, "--no-gui", "--quiet", "lines.m"]
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False, timeout=100)
    assert done.returncode == 0, done.stderr
    found = re.search(r"peak ([\d.]+) 1", done.stdout)
    assert found is not None
    assert float(found[1]) == pytest.approx(peak(folder))
