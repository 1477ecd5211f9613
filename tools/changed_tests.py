"""Prints the tests of what changed since a revision, one path a line, for pytest.

    python tools/changed_tests.py [REVISION]

A changed module stands for the tests of its room (`signal/feltload/signal/hinge/solver.py`: `tests/signal/hinge`),
a changed test for itself, a changed helper for the tests that import it. Without REVISION the changes are those of
the branch since it left `main`, committed or not; on `main` itself, what is not committed.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LAYOUT = ("tests/project/test_layout.py", "tests/project/test_rooms.py", "tests/project/test_faces.py")


def git(*words: str) -> list[str]:
    done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"changed_tests: git {' '.join(words)}: {done.stderr.strip()}")
    return done.stdout.splitlines()


def changed(revision: str | None) -> set[str]:
    """Paths that differ from the revision, those that git does not know yet included."""
    if revision is None:
        branches = git("branch", "--list", "main", "--format=%(refname:short)")
        revision = git("merge-base", "main", "HEAD")[0] if branches else "HEAD"
    return {
        *git("diff", "--name-only", "--no-renames", revision),
        *git("ls-files", "--others", "--exclude-standard"),
    }


def tests_of_module(parts: tuple[str, ...], tests: Path) -> set[str]:
    """Tests of ``(layer, room, ..., module)``: the folder that mirrors its room, or a file of its name beside rooms.

    Where neither is there, all tests of the layer.
    """
    layer, *rooms = parts[:-1]
    folders = [tests.joinpath(layer, *rooms[:depth]) for depth in range(len(rooms), 0, -1)]
    own = tests / layer / f"test_{parts[-1].split('.')[0]}.py"
    mirror = next((path for path in (*folders, own) if path.exists()), tests / layer)
    return {str(mirror.relative_to(tests.parent))}


def tests_of(path: str, root: Path = ROOT) -> set[str]:
    """What to run when this file has changed."""
    tests = root / "tests"
    parts = Path(path).parts
    if len(parts) > 3 and parts[1] == "feltload":
        return {*LAYOUT, *tests_of_module(parts[2:], tests)}
    if path.startswith("tests/published/"):
        return {"tests/project/test_sources.py"}
    if parts[0] == "tests" and path.endswith(".py"):
        if parts[1] == "support":
            name = re.compile(rf"^\s*(?:from|import) {Path(path).stem}\b", flags=re.MULTILINE)
            return {
                str(test.relative_to(root))
                for test in tests.rglob("test_*.py")
                if name.search(test.read_text(encoding="utf-8"))
            }
        if len(parts) == 2:
            return {"tests/project/test_gate.py"}
        if Path(path).name.startswith("test_"):
            return {path}
        return {str(Path(*parts[:-1]))}
    if parts[0] == "benchmarks":
        return {"tests/project/test_benchmarks.py"}
    if parts[0] == "recordings":
        return {"tests/acquisition/recording"}
    if parts[0] == "firmware":
        return {"tests/acquisition/firmware"}
    if path.endswith(".md"):
        return {"tests/project/test_documented_commands.py", "tests/project/test_documents.py"}
    return {"tests/project/test_layout.py", "tests/project/test_gate.py"}


def main() -> None:
    found = {test for path in changed(sys.argv[1] if len(sys.argv) > 1 else None) for test in tests_of(path)}
    there = sorted(test for test in found if (ROOT / test).exists())
    # A folder stands for what is in it.
    print(*(test for test in there if not any(test.startswith(f"{other}/") for other in there)), sep="\n")


if __name__ == "__main__":
    main()
