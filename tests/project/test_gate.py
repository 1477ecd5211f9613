"""The gate: what is missing is skipped loudly on a desk and fails where tests decide."""

from __future__ import annotations

import re

import pytest

from needs import NEEDS, Need, require
from source_tree import ROOT


@pytest.fixture
def missing(monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setitem(NEEDS, "unobtainable", Need("unobtainium", "dig deeper", lambda: False))
    return "unobtainable"


def test_on_a_desk_the_test_is_skipped(missing, monkeypatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match=r"NOT tested: unobtainium.*dig deeper"):
        require(missing)


def test_at_the_gate_the_test_fails(missing, monkeypatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match=r"NOT tested: unobtainium"):
        require(missing)


def test_the_gate_says_that_it_is_one() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert script.index("export CI=true") < script.index("exec make test")


def test_programs_that_are_installed_are_those_that_tests_need() -> None:
    script = (ROOT / "tools" / "system_packages.sh").read_text(encoding="utf-8")
    installed = re.findall(r"^need (\S+) (\S+)$", script, flags=re.MULTILINE)
    needed = [
        (name, need.remedy.split()[-1]) for name, need in NEEDS.items() if need.what.startswith("the program")
    ]
    assert installed == needed
    tests = "\n".join(
        path.read_text(encoding="utf-8")
        for path in (ROOT / "tests").rglob("*.py")
        if path.name not in ("needs.py", "test_gate.py")
    )
    for name in NEEDS:
        assert re.search(rf'(needs|require|required_program)\([^)]*"{name}"', tests), f"nothing needs {name}"
