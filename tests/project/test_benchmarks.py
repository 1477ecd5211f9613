"""Benchmarks import, explain themselves, are named by their kind, and the commands in their README exist."""

from __future__ import annotations

import importlib
import re
import sys

import pytest

from source_tree import ROOT

FOLDER = ROOT / "benchmarks"
MODULES = sorted(path.stem for path in FOLDER.glob("*.py"))
RUN = [name for name in MODULES if not name.startswith("rig_")]
README = (FOLDER / "README.md").read_text(encoding="utf-8")


def test_names_say_what_is_found_out() -> None:
    # bench: speed and memory; study: accuracy and coverage; soak: endurance with faults; rig: what these stand on.
    assert not [name for name in MODULES if not name.startswith(("bench_", "study_", "soak_", "rig_"))]


@pytest.mark.parametrize("name", MODULES)
def test_imports(name: str) -> None:
    assert importlib.import_module(name).__doc__


@pytest.mark.parametrize("name", RUN)
def test_explains_itself(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    module = importlib.import_module(name)
    monkeypatch.setattr(sys, "argv", [f"{name}.py", "--help"])
    with pytest.raises(SystemExit) as left:
        module.main()
    assert left.value.code == 0
    assert f"benchmarks/{name}.py" in capsys.readouterr().out


def test_documents_name_benchmarks_that_exist_and_every_one_is_documented() -> None:
    pages = [README, *(path.read_text(encoding="utf-8") for path in (ROOT / "docs").glob("*.md"))]
    named = {name for page in pages for name in re.findall(r"\b((?:bench|study|soak|rig)_\w+)\.py", page)}
    assert named <= set(MODULES)
    assert set(RUN) <= set(re.findall(r"(\w+)\.py", README))
