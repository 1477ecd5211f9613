"""A command parses, calls one function below and hands the facts on: none grows into a program of its own."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

COMMANDS = Path(__file__).resolve().parents[2] / "app" / "feltload" / "app" / "commands"
MOST_LINES = 60


def functions() -> list[tuple[str, ast.FunctionDef]]:
    return [
        (f"{path.relative_to(COMMANDS)}:{node.name}", node)
        for path in sorted(COMMANDS.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
    ]


def body_lines(function: ast.FunctionDef) -> int:
    """Lines of a function's body without its docstring; its parameters are the command's interface."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def test_lines_are_counted_without_docstring_and_parameters() -> None:
    source = 'def f(\n    a,\n    b,\n):\n    """Say.\n\n    More.\n    """\n    a = b\n\n    return a\n'
    function = ast.parse(source).body[0]
    assert isinstance(function, ast.FunctionDef)
    assert body_lines(function) == 3


@pytest.mark.parametrize(("name", "function"), functions(), ids=[name for name, _ in functions()])
def test_no_function_of_a_command_is_long(name: str, function: ast.FunctionDef) -> None:
    assert body_lines(function) <= MOST_LINES, name


def test_modules_of_the_application_are_small() -> None:
    app = COMMANDS.parent
    long = {
        str(path.relative_to(app)): lines
        for path in app.rglob("*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 300
    }
    assert long == {}
