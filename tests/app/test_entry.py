"""Ctrl-C while the program still loads its libraries ends it as it does later: one line, an interrupt's code."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

INTERRUPTED = 130
PROJECT = Path(__file__).parents[2] / "pyproject.toml"

# Found in place of the library that the command line is parsed with: Ctrl-C, pressed as it loads.
INTERRUPTED_LIBRARY = "import signal\n\nsignal.raise_signal(signal.SIGINT)\n"


def installed() -> list[str]:
    """The program as its installed script calls it."""
    script = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["scripts"]["feltload"]
    module, _, function = script.partition(":")
    return ["-c", f"import sys\nfrom {module} import {function}\nsys.exit({function}())"]


@pytest.mark.parametrize("called", [["-m", "feltload.app"], installed()])
def test_while_it_loads(tmp_path: Path, called: list[str]) -> None:
    (tmp_path / "cyclopts.py").write_text(INTERRUPTED_LIBRARY)
    ended = subprocess.run(
        [sys.executable, *called, "doctor"],
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )
    assert (ended.returncode, ended.stdout) == (INTERRUPTED, "")
    assert ended.stderr == "feltload: stopped by the keyboard\n"
