"""Unusual words that the house style replaces are in no screen, document, comment or name."""

from __future__ import annotations

import re

import pytest

from source_tree import ROOT

FOLDERS = (
    "core", "acquisition", "signal", "calibration", "coaching", "app", "emulator",
    "docs", "tools", "benchmarks", "recordings", "firmware",
)  # fmt: skip
ENDINGS = {".py", ".pyi", ".md", ".toml", ".html", ".css"}

REPLACED = {
    "compared with": r"\bheld against\b",
    "computed with": r"\breckon",
    "cannot be determined": r"\b(?:cannot|can not|can't) be told\b",
    "reported": r"\bworth a word\b",
    "treated as": r"\btaken for\b",
    "is not an .html file name": r"\bis no name of\b",
    "fix, recreate, again": r"\bmend(?:s|ed|ing)?\b|\banew\b",
    "duplicate column": r"\bstands twice\b",
    "friction adds": r"\brubbing takes\b",
    "kgf": r"\bkg (?:felt|hung)\b|kilograms?[ _]felt",
    'give a mass, such as "40 kg"': r"\b(?:mass|force|length|angle|time|number) is wanted\b",
    "a number, or this many": r"\bso[- _]man(?:y|ieth)\b",
}
"""What to write, and the words it replaces."""


def texts() -> list[tuple[str, str]]:
    """Path and text of every file that people read; words may be broken over lines."""
    paths = [
        path
        for folder in FOLDERS
        for path in (ROOT / folder).rglob("*")
        if path.suffix in ENDINGS and "_build" not in path.parts
    ]
    paths += ROOT.glob("*.md")
    return [
        (
            str(path.relative_to(ROOT)),
            re.sub(r'["\s#]+|(?<=\s)f"', " ", path.read_text(encoding="utf-8")),
        )
        for path in paths
    ]


TEXTS = texts()


@pytest.mark.parametrize("instead", REPLACED)
def test_replaced_words_are_gone(instead: str) -> None:
    pattern = re.compile(REPLACED[instead], re.IGNORECASE)
    found = [
        f"{path}: ...{text[max(0, match.start() - 30) : match.end() + 30]}..."
        for path, text in TEXTS
        for match in pattern.finditer(text)
    ]
    assert not found, f'write "{instead}": {found}'


def test_every_pattern_finds_what_it_is_for() -> None:
    said = (
        "held against, reckoned with, cannot be told, worth a word, taken for, is no name of a page, make it anew, "
        "stands twice, rubbing takes, kg felt, a mass is wanted, the so-manieth"
    )
    assert [instead for instead, pattern in REPLACED.items() if not re.search(pattern, said)] == []
    assert len(TEXTS) > 300
