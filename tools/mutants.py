"""Changes a room's code a little, many times, and says which changes its tests do not notice.

    python tools/mutants.py ROOM [--per-module N] [--seed S] [--tests PATH ...]

ROOM is a room (`signal/clock`) or one module of it (`signal/hinge/uncertainty`). The checkout is never touched: the
layer is copied, the copy is changed and comes first on the path. The tests are those that `changed_tests.py` calls for,
or PATH; the quick ones run first and the first failure ends a run. Libraries are loaded once and each run is forked
(Linux, macOS). Survivors are printed as line diffs for a person to judge, then a table for `benchmarks/README.md`.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import io
import multiprocessing
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from changed_tests import tests_of_module

LEAST_LIMIT_S = 30.0
"""A run may take this long, or this many times as long as the unchanged one; an endless loop counts as noticed."""
LIMIT_RATIO = 6.0
UNSHARED = ("_pytest", "pytest", "pluggy", "xdist", "hypothesis", "_hypothesis", "feltload")
"""Modules that each run imports again, because pytest prepares them while importing."""

COMPARED = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
REVERSED = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}
PAIRS = (("any", "all"), ("min", "max"), ("argmin", "argmax"), ("minimum", "maximum"))
OPPOSITE = {a: b for one, other in PAIRS for a, b in ((one, other), (other, one))}


@dataclass(frozen=True)
class Mutant:
    """One change: the text between two offsets replaced."""

    start: int
    stop: int
    text: str

    def applied(self, source: str) -> str:
        return source[: self.start] + self.text + source[self.stop :]

    def diff(self, source: str) -> str:
        """The lines that differ, as they were and as they are."""
        first = source.rfind("\n", 0, self.start) + 1
        last = source.find("\n", self.stop)
        after = source[first : self.start] + self.text + source[self.stop : last]
        number = source.count("\n", 0, self.start) + 1
        return (
            f"  {number}: - {_one_line(source[first:last])}\n  {' ' * len(str(number))}  + {_one_line(after)}"
        )


def _one_line(text: str) -> str:
    return " ".join(text.split())


def mutants_of(source: str) -> list[Mutant]:
    """Every change this tool knows, in the order of the source; annotations, decorators and texts are left alone."""
    lines = [0]
    for line in source.splitlines(keepends=True):
        lines.append(lines[-1] + len(line.encode()))
    data = source.encode()

    def offset(line: int, column: int) -> int:
        return len(data[: lines[line - 1] + column].decode())

    made = []
    for node, new in _changes(ast.parse(source)):
        start = offset(node.lineno, node.col_offset)
        stop = offset(node.end_lineno or node.lineno, node.end_col_offset or 0)
        text = "pass" if new is None else ast.unparse(new)
        if isinstance(new, ast.expr) and not isinstance(new, ast.Constant | ast.Name | ast.Attribute):
            text = f"({text})"
        made.append(Mutant(start, stop, text))
    return sorted(made, key=lambda mutant: (mutant.start, mutant.stop, mutant.text))


def _changes(tree: ast.AST) -> Iterator[tuple[ast.expr | ast.stmt, ast.AST | None]]:
    """Nodes with what to put in their place; None removes a statement."""
    for node in _walked(tree, returns=""):
        match node:
            case ast.Compare(ops=[op], left=left, comparators=right):
                for other in COMPARED[type(op)]:
                    yield node, ast.Compare(left, [other()], right)
            case ast.BinOp(op=op, left=left, right=right) if type(op) in REVERSED:
                yield node, ast.BinOp(left, REVERSED[type(op)](), right)
            case ast.BoolOp(op=op, values=values):
                yield node, ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
            case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert(), operand=operand):
                yield node, operand
            case ast.Constant(value=bool(value)):
                yield node, ast.Constant(not value)
            case ast.Constant(value=int(value)):
                yield node, ast.Constant(value + 1)
            case ast.Constant(value=float(value)):
                yield node, ast.Constant(value * 3.0 if value else 1.0)
                if value:
                    yield node, ast.Constant(value / 3.0)
            case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)) if name in OPPOSITE:
                other = copy.copy(node.func)
                setattr(other, "id" if isinstance(other, ast.Name) else "attr", OPPOSITE[name])
                yield node.func, other
            case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
                if getattr(node, "numeric", False):
                    yield node, ast.Return(ast.UnaryOp(ast.USub(), value))
            case ast.AugAssign() | ast.Continue() | ast.Break() | ast.Raise():
                yield node, None
            case ast.Expr(value=ast.Call()) | ast.Assign(targets=[ast.Subscript()]):
                yield node, None
            case ast.If(orelse=[], body=[*_, ast.Return()]):
                yield node, None


def _walked(node: ast.AST, returns: str) -> Iterator[ast.AST]:
    """What is computed, statement by statement."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
        returns = ast.unparse(node.returns) if node.returns else ""
    if isinstance(node, ast.Return):
        node.numeric = bool({"float", "int", "Floats", "Indices"} & set(returns.replace("|", " ").split()))  # type: ignore[attr-defined]
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr):
                yield from _walked(child, returns)


class _Order:
    """Runs quick tests first and notes how long each took and which failed."""

    def __init__(self, known_s: dict[str, float]) -> None:
        self.known_s = known_s
        self.took_s: dict[str, float] = {}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items.sort(key=lambda item: self.known_s.get(item.nodeid, 0.0))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.took_s[report.nodeid] = self.took_s.get(report.nodeid, 0.0) + report.duration
        if report.failed and not self.failed:
            self.failed = report.nodeid


class Bench:
    """A copy of one layer and the tests that are run on it."""

    def __init__(self, root: Path, layer: str, tests: Sequence[str], overlay: Path) -> None:
        self.root, self.layer, self.tests = root, layer, tests
        self.path = overlay / layer
        shutil.copytree(root / layer, self.path, ignore=shutil.ignore_patterns("__pycache__"))
        self.took_s: dict[str, float] = {}
        started = time.monotonic()
        report = self._forked(None)
        if report is None or report["code"] != 0:
            failed = report["failed"] if report else ""
            sys.exit(f"mutants: the unchanged tests fail or are not found: {failed}")
        self.limit_s = max(LEAST_LIMIT_S, LIMIT_RATIO * (time.monotonic() - started))
        self.took_s = report["took_s"]
        for name in report["libraries"]:
            with suppress(Exception):
                importlib.import_module(name)

    def source(self, module: Path) -> str:
        """Text of a module as it was copied."""
        return (self.path.parent / module.relative_to(self.root)).read_text(encoding="utf-8")

    def killer(self, module: Path, changed: str) -> str | None:
        """Test that notices the changed text of a module; None if none does."""
        mine = self.path.parent / module.relative_to(self.root)
        kept = self.source(module)
        for stale in (mine.parent / "__pycache__").glob(f"{mine.stem}.*"):
            stale.unlink()
        mine.write_text(changed, encoding="utf-8")
        try:
            report = self._forked(self.limit_s)
        finally:
            mine.write_text(kept, encoding="utf-8")
        if report is None:
            return "no end, or no interpreter left"
        return None if report["code"] == 0 else report["failed"] or "import"

    def _forked(self, limit_s: float | None) -> dict | None:
        context = multiprocessing.get_context("fork")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=self._run, args=(theirs, limit_s is None))
        process.start()
        theirs.close()
        report = None
        with suppress(EOFError):
            report = ours.recv() if ours.poll(limit_s) else None
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid or 0, signal.SIGKILL)
        process.join()
        return report

    def _run(self, pipe: Connection, first: bool) -> None:
        os.setsid()
        os.chdir(self.root)
        # A changed module of the same size and second would pass for the one compiled before.
        sys.dont_write_bytecode = not first
        sys.path.insert(0, str(self.path))
        os.environ["PYTHONPATH"] = str(self.path)
        order = _Order(self.took_s)
        told = io.StringIO()
        with redirect_stdout(told), redirect_stderr(told):
            words = [*self.tests, "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-o", "timeout=0"]
            code = int(pytest.main(words, plugins=[order]))
        loaded = {name: getattr(module, "__file__", None) or "" for name, module in sys.modules.items()}
        own = [file for name, file in loaded.items() if name.startswith(f"feltload.{self.layer}.")]
        if first and not (own and all(file.startswith(str(self.path)) for file in own)):
            code, order.failed = 1, "the tests do not import the copy: " + told.getvalue()[-2000:]
        libraries = [
            name for name, file in loaded.items() if "site-packages" in file and not name.startswith(UNSHARED)
        ]
        pipe.send({"code": code, "failed": order.failed, "took_s": order.took_s, "libraries": libraries})


def chosen(source: str, count: int, seed: str) -> list[Mutant]:
    """This many of a source's mutants, the same for the same seed, in the order of the source."""
    known = mutants_of(source)
    drawn = random.Random(seed).sample(range(len(known)), min(count, len(known)))
    return [known[k] for k in sorted(drawn)]


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("room")
    parser.add_argument("--per-module", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tests", nargs="+")
    parser.add_argument("--root", type=Path, default=Path(__file__).resolve().parents[1])
    asked = parser.parse_args()
    root = asked.root.resolve()
    layer, *inside = asked.room.strip("/").split("/")
    room = root / layer / "feltload" / layer / Path(*inside)
    modules = sorted(room.glob("[!_]*.py")) if room.is_dir() else [room.with_suffix(".py")]
    if not modules or not modules[0].is_file():
        parser.error(f"{asked.room}: no such room or module; give one such as signal/clock")
    parts = modules[0].relative_to(root).parts[2:]
    tests = asked.tests or sorted(tests_of_module(parts, root / "tests"))
    rows = []
    with tempfile.TemporaryDirectory() as overlay:
        bench = Bench(root, layer, tests, Path(overlay))
        for module in modules:
            source = bench.source(module)
            name = f"{layer}/{'/'.join(module.relative_to(root).parts[3:])}".removesuffix(".py")
            drawn = chosen(source, asked.per_module, f"{asked.seed} {name}")
            survived = [m for m in drawn if bench.killer(module, m.applied(source)) is None]
            print(f"{name}: {len(drawn) - len(survived)} of {len(drawn)} killed", flush=True)
            print(*(mutant.diff(source) for mutant in survived), sep="\n", flush=True)
            if drawn:
                rows.append(f"| `{name}` | {len(drawn)} | {len(drawn) - len(survived)} | {len(survived)} |")
    print("| module | mutants | killed | survived |", "| --- | --- | --- | --- |", *rows, sep="\n")


if __name__ == "__main__":
    main()
