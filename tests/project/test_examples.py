"""The examples run as notebooks, each in a kernel of its own in an empty folder; what they say is what is stored.

A kernel executes the cells of the script, so that script and notebook are tried in one go.
"""

from __future__ import annotations

import base64
import functools
import io
import re
import tomllib
from typing import Any

import nbformat
import numpy as np
import pytest
from PIL import Image

import notebooks
from feltload.emulator import scenario
from source_tree import ROOT

NUMBER = re.compile(r"[-−]?\d+(?:\.\d+)?")


@functools.cache
def run(name: str) -> Any:
    return notebooks.executed(name)


def outputs(notebook: Any) -> list[Any]:
    return [output for cell in notebook.cells for output in cell.get("outputs", ())]


def said(notebook: Any) -> str:
    """Everything that a notebook says in words and numbers."""
    return "\n".join(
        each.get("text") or each.get("data", {}).get("text/plain", "") for each in outputs(notebook)
    )


def figures(notebook: Any) -> list[np.ndarray]:
    """Grey values of its figures, shape (height, width) each."""
    pngs = [each["data"]["image/png"] for each in outputs(notebook) if "image/png" in each.get("data", {})]
    return [
        np.asarray(Image.open(io.BytesIO(base64.b64decode(png))).convert("L"), dtype=float) for png in pngs
    ]


@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", notebooks.NAMES)
def test_what_is_stored_is_what_comes_out(name: str) -> None:
    """Words as they are, numbers to 1 % or one in their last place, figures but for the letters of another library."""
    stored, made = nbformat.read(notebooks.EXAMPLES / f"{name}.ipynb", as_version=4), run(name)
    again = f"run `make notebooks`: docs/examples/{name}.ipynb is not what {name}.py gives"
    assert [cell.source for cell in stored.cells] == [cell.source for cell in made.cells], again
    before, after = said(stored), said(made)
    assert NUMBER.sub("#", before).split() == NUMBER.sub("#", after).split(), again
    for old, new in zip(NUMBER.findall(before), NUMBER.findall(after), strict=True):
        place = 10.0 ** -len(old.partition(".")[2])
        assert number(new) == pytest.approx(number(old), rel=0.01, abs=1.01 * place), again
    for old, new in zip(figures(stored), figures(made), strict=True):
        assert np.abs(np.subtract(old.shape, new.shape)).max() <= 4, again
        height, width = np.minimum(old.shape, new.shape)
        assert np.mean(np.abs(old[:height, :width] - new[:height, :width])) < 5.0, again


def number(text: str) -> float:
    return float(text.replace("−", "-"))


@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", notebooks.NAMES)
def test_what_is_stored_has_no_traces_of_a_computer(name: str) -> None:
    text = (notebooks.EXAMPLES / f"{name}.ipynb").read_text(encoding="utf-8")
    text = re.sub(r'"image/png": ".*?"', "", text)
    assert not re.search(
        r"/(?:home|root|tmp|work|Users)/|0x[0-9a-f]{6}|\d\d:\d\d:\d\d|Traceback|Warning", text
    )
    assert '"version"' not in text


@pytest.mark.timeout(600)
def test_coach() -> None:
    words = said(run("coach"))
    found = re.search(r"40 kg, greatest static force \(95 %\) ([\d.]+) ± ([\d.]+) N", words)
    assert found is not None
    force_n, u95_n = map(float, found.groups())
    # The emulator knows the force exactly.
    truth_n = (
        scenario("lever-row", load_kg=40.0).static_force_n(np.radians(np.linspace(0.0, 70.0, 141))).max()
    )
    assert abs(force_n - truth_n) < 1.5 * u95_n
    assert "painful ranges avoided 1" in words
    # Plates at hand make steps of 2.5 kg.
    suggested = re.search(r"suggested load +([\d.]+) kg", words)
    assert suggested is not None
    assert float(suggested[1]) % 2.5 == 0.0
    assert len(figures(run("coach"))) == 3


@pytest.mark.timeout(600)
def test_designer() -> None:
    words = said(run("designer"))
    assert "Resistance profile predicted, not measured" in words
    assert "Design proposed for lever row (invented), predicted, not measured: meets every target" in words
    verdicts = re.findall(r"(\d+) kg compared with the target: .*?: target (not met|met)", words)
    assert verdicts == [("40", "not met"), ("40", "met")]
    assert len(figures(run("designer"))) == 3


@pytest.mark.timeout(600)
def test_scientist() -> None:
    words = said(run("scientist"))
    found = re.search(
        r"standard error of measurement \(95 % interval\) ([\d.]+) \(([\d.]+) to ([\d.]+)\) N", words
    )
    assert found is not None
    _, low_n, high_n = map(float, found.groups())
    # Drawn with a standard deviation of 2 N between the days of one machine.
    assert low_n < 2.0 < high_n
    found = re.search(r"p = ([\d.]+) in 1024", words)
    assert found is not None
    # The second day was given 3 N more at the end of the travel.
    assert float(found[1]) < 0.05
    assert len(figures(run("scientist"))) == 3


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
