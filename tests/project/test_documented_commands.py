"""Every command that the documents print is one that the program understands."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest

from feltload.app.cli import build_app

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")), ROOT / "recordings" / "README.md"]


def commands(page: Path) -> Iterator[str]:
    """Lines of code blocks that call the program, continued lines joined."""
    for block in re.findall(r"```\w*\n(.*?)```", page.read_text(encoding="utf-8"), flags=re.DOTALL):
        for line in block.replace("\\\n", " ").splitlines():
            if line.startswith("feltload "):
                yield line


FOUND = [(page.name, line) for page in PAGES for line in commands(page)]


def test_documents_print_commands():
    assert len(FOUND) > 30


@pytest.mark.parametrize(("page", "line"), FOUND, ids=[line for _, line in FOUND])
def test_command_is_understood(page, line):
    words = shlex.split(line, comments=True)[1:]
    _, bound, unused = build_app().parse_args(words, exit_on_error=False, print_error=False)
    assert not unused
    assert bound.args or bound.kwargs or words in (["demo"], ["devices"], ["start"], ["doctor"], ["live"]), (
        page
    )
