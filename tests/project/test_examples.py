"""The example scripts run as printed, each in a fresh process, and their figures agree with what is known."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib

import numpy as np
import pytest

from feltload.emulator import scenario
from source_tree import ROOT

RUN = """
import runpy, sys
runpy.run_path(sys.argv[1])
from matplotlib import pyplot
for number in pyplot.get_fignums():
    for ax in pyplot.figure(number).axes:
        print("figure:", ax.get_xlabel(), "|", ax.get_ylabel(), "|", len(ax.lines), len(ax.collections))
"""


def said_by(name: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(ROOT / "docs" / "examples" / f"{name}.py")],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        env={**os.environ, "MPLBACKEND": "Agg"},
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


@pytest.mark.timeout(300)
def test_coach() -> None:
    said = said_by("coach")
    assert "figure: part of the travel, % | force at the handle, N | 6 2" in said
    assert "figure: part of the travel, % | demand, % of capacity | 2 1" in said
    found = re.search(r"40 kg, greatest static force \(95 %\) ([\d.]+) ± ([\d.]+) N", said)
    assert found is not None
    force_n, u95_n = map(float, found.groups())
    # The emulator knows the force exactly.
    truth_n = (
        scenario("lever-row", load_kg=40.0).static_force_n(np.radians(np.linspace(0.0, 70.0, 141))).max()
    )
    assert abs(force_n - truth_n) < 1.5 * u95_n


@pytest.mark.timeout(300)
def test_designer() -> None:
    said = said_by("designer")
    assert "Resistance profile predicted, not measured" in said
    assert "figure: part of the travel, % | force at the handle, N | 2 2" in said
    assert "20 kg: not-met" in said


@pytest.mark.timeout(300)
def test_scientist() -> None:
    said = said_by("scientist")
    assert "figure: part of the travel, % | force added by each kg, N/kg | 2 0" in said
    found = re.search(r"sem\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)", said)
    assert found is not None
    _, low_n, high_n = map(float, found.groups())
    # Drawn with a standard deviation of 2 N between the days of one machine.
    assert low_n < 2.0 < high_n


def test_the_citation_agrees_with_the_package() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    given = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    for line in (
        f"version: {project['version']}",
        f"license: {project['license']}",
        f"title: {project['name']}",
    ):
        assert f"\n{line}\n" in given
    assert f'name: "{project["authors"][0]["name"]}"' in given
