"""The tool that asks what tests notice: which changes it makes, and a toy room with a killed and a surviving one."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from mutants import chosen, mutants_of
from source_tree import ROOT


def changed(source: str) -> list[str]:
    return [mutant.applied(source) for mutant in mutants_of(source)]


@pytest.mark.parametrize(
    ("source", "mutated"),
    [
        ("a < b", ["(a <= b)", "(a >= b)"]),
        ("a is None", ["(a is not None)"]),
        ("a - b", ["(a + b)"]),
        ("(a + b) / c", ["((a + b) * c)", "((a - b)) / c"]),
        ("a and b", ["(a or b)"]),
        ("not a", ["a"]),
        ("-a", ["a"]),
        ("x = np.any(a)", ["x = np.all(a)"]),
        ("x = max(a, b)", ["x = min(a, b)"]),
        ("x = True", ["x = False"]),
        ("x = 3", ["x = 4"]),
        ("x = 1.5", ["x = 4.5", "x = 0.5"]),
        ("x += a", ["pass"]),
        ("x[i] = a", ["pass"]),
        ("f(a)", ["pass"]),
        ("def f(a) -> float:\n    return a", ["def f(a) -> float:\n    return -a"]),
        ("def f(a):\n    if a:\n        return\n    g = a", ["def f(a):\n    pass\n    g = a"]),
        # Characters of several bytes before the place.
        ('x = ("°", a < b)', ['x = ("°", (a <= b))', 'x = ("°", (a >= b))']),
    ],
)
def test_changes(source: str, mutated: list[str]) -> None:
    found = changed(source)
    assert sorted(found) == sorted(mutated)
    for text in found:
        ast.parse(text)


@pytest.mark.parametrize(
    "source",
    [
        '"""Says a < 3."""',
        "x: Sequence[int | None]",
        "def f(a: tuple[float, 2]) -> str:\n    return a",
        "x = f'{a + 1}'",
    ],
)
def test_texts_and_annotations_are_left_alone(source: str) -> None:
    assert changed(source) == []


def test_the_same_seed_draws_the_same() -> None:
    source = (ROOT / "tools" / "mutants.py").read_text(encoding="utf-8")
    drawn = chosen(source, 10, "1 tool")
    assert drawn == chosen(source, 10, "1 tool")
    assert drawn != chosen(source, 10, "2 tool")
    assert len(set(drawn)) == 10


MODULE = """def bounded(value, most):
    if value > most:
        return most
    return value
"""
TEST = """from feltload.toy.room.limits import bounded

def test_bounded():
    assert bounded(3, 5) == 3
    assert bounded(7, 5) == 5
"""


@pytest.mark.skipif(not sys.platform.startswith(("linux", "darwin")), reason="runs are forked")
def test_a_toy_room(tmp_path: Path) -> None:
    room = tmp_path / "toy/feltload/toy/room"
    tests = tmp_path / "tests/toy/room"
    room.mkdir(parents=True)
    tests.mkdir(parents=True)
    for package in (room.parent, room):
        (package / "__init__.py").write_text("")
    (room / "limits.py").write_text(MODULE)
    (tests / "test_limits.py").write_text(TEST)
    done = subprocess.run(
        [sys.executable, ROOT / "tools/mutants.py", "toy/room", "--root", tmp_path],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    # Turning the comparison round and removing the branch are noticed; at the limit both answers are the same.
    assert done.stdout.splitlines() == [
        "toy/room/limits: 2 of 3 killed",
        "  2: - if value > most:",
        "     + if (value >= most):",
        "| module | mutants | killed | survived |",
        "| --- | --- | --- | --- |",
        "| `toy/room/limits` | 3 | 2 | 1 |",
    ]
    assert (room / "limits.py").read_text() == MODULE


def test_an_unknown_room_is_one_clear_line() -> None:
    done = subprocess.run(
        [sys.executable, ROOT / "tools/mutants.py", "signal/nowhere"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert "signal/nowhere: no such room or module" in done.stderr
