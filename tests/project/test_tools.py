"""The project's own tools: which tests a change calls for."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

import changed_tests
from source_tree import ROOT, dotted, modules


@pytest.mark.parametrize(
    ("path", "test"),
    [
        ("signal/feltload/signal/hinge/smoother/solver.py", "tests/signal/hinge"),
        ("signal/feltload/signal/pipeline.py", "tests/signal/test_pipeline.py"),
        ("calibration/feltload/calibration/machine/mechanisms/lever.py", "tests/calibration/machine"),
        ("signal/feltload/signal/__init__.pyi", "tests/project/test_faces.py"),
        ("tests/signal/hinge/test_bias.py", "tests/signal/hinge/test_bias.py"),
        ("tests/signal/conftest.py", "tests/signal"),
        ("tests/support/lever_profile.py", "tests/coaching/match/test_match.py"),
        ("benchmarks/rig_session.py", "tests/project/test_benchmarks.py"),
        ("recordings/lever-row.toml", "tests/acquisition/recording"),
        ("README.md", "tests/project/test_documented_commands.py"),
        ("Makefile", "tests/project/test_gate.py"),
    ],
)
def test_a_change_calls_for_its_tests(path: str, test: str) -> None:
    assert (ROOT / path).exists()
    assert (ROOT / test).exists()
    assert test in changed_tests.tests_of(path)


def test_every_module_has_tests_that_a_change_calls_for() -> None:
    for path in modules():
        called = changed_tests.tests_of(str(path.relative_to(ROOT))) - set(changed_tests.LAYOUT)
        assert [test for test in called if (ROOT / test).exists()], dotted(path)


def test_changes_are_found_committed_or_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def git(*words: str) -> None:
        subprocess.run(
            ["git", "-c", "user.name=x", "-c", "user.email=x@example.org", *words],
            cwd=tmp_path, check=True, capture_output=True,
        )  # fmt: skip

    monkeypatch.setattr(changed_tests, "ROOT", tmp_path)
    git("init", "--initial-branch", "main")
    for name in ("kept", "committed", "edited"):
        (tmp_path / name).write_text("before")
    git("add", ".")
    git("commit", "-m", "start")
    git("switch", "-c", "work")
    (tmp_path / "committed").write_text("after")
    git("commit", "-am", "change")
    (tmp_path / "edited").write_text("after")
    (tmp_path / "new").write_text("")
    assert changed_tests.changed(None) == {"committed", "edited", "new"}
