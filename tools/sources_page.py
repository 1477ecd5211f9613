"""Write docs/sources.md from tests/published: `python tools/sources_page.py`, or `make sources`."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "support"))

from published_data import VERIFICATIONS, Source, sources  # noqa: E402

PAGE = ROOT / "docs" / "sources.md"
LAYERS = ("core", "acquisition", "signal", "calibration", "coaching", "emulator", "app")
HEAD = """# Sources

What the project's checks and methods rest on, and whether anybody looked. `make sources` writes this page from
`tests/published/`; edit there. "Seen and recomputed": read in a public text and computed again. "Seen": read in one.
"From memory": no text was at hand; a check against it shows that two recollections agree and no more. Where none
of these applies the code says "common practice, no source".
"""


def test_files() -> Iterator[Path]:
    return (p for p in sorted((ROOT / "tests").rglob("*.py")) if p.name != "published_data.py")


def readers(source: Source) -> list[Path]:
    """Tests that read the values of a source."""
    call = re.compile(rf"""\bpublished(?:_rows)?\(\s*["']{source.name}["']\s*\)""")
    return [path for path in test_files() if call.search(flowing(path))]


def cited_texts() -> Iterator[Path]:
    """Every text of the project that may cite a work."""
    for layer in LAYERS:
        yield from sorted((ROOT / layer).rglob("*.py"))
    yield from test_files()
    yield from sorted((ROOT / "benchmarks").glob("*.py"))
    yield from (p for p in sorted((ROOT / "docs").glob("*.md")) if p != PAGE)


@cache
def flowing(path: Path) -> str:
    """Text of a file without its line breaks: a name may be broken over two lines."""
    return " ".join(path.read_text(encoding="utf-8").split())


def place(path: Path) -> str:
    """The room, test folder or page that a file belongs to."""
    parts = path.relative_to(ROOT).parts
    if parts[0] in LAYERS:
        return "/".join(parts[2:4]).removesuffix(".py")
    return "/".join(parts) if parts[0] == "docs" else "/".join(parts[:-1])


def citing(source: Source) -> list[str]:
    """Where a source is named."""
    hits = (place(path) for path in cited_texts() if any(words in flowing(path) for words in source.cited_as))
    return sorted(set(hits))


def _entry(source: Source) -> str:
    lines = [f"- **{source.source}.** Backs {source.backs}."]
    if source.how:
        lines.append(f"  {source.how[0].upper()}{source.how[1:]}.")
    used = [f"`{path.relative_to(ROOT / 'tests')}`" for path in readers(source)]
    places = citing(source)
    # Tests follow the rooms they test: named here only where nothing else names the work.
    beside_tests = [where for where in places if not where.startswith("tests/")]
    named = [f"`{where}`" for where in beside_tests or places]
    if used:
        lines.append(f"  Read by {', '.join(used)}.")
    if named:
        lines.append(f"  Named in {', '.join(named)}.")
    return "\n".join(lines)


def page() -> str:
    parts = [HEAD]
    for kind, title in (("values", "Values that tests read"), ("works", "Works that give methods")):
        parts.append(f"## {title}\n")
        for verification in VERIFICATIONS:
            listed = [
                s
                for s in sources().values()
                if s.verification == verification and bool(s.data or s.file) == (kind == "values")
            ]
            if listed:
                parts.append(f"### {verification.capitalize()}\n")
                parts.append("\n".join(_entry(s) for s in listed) + "\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)}: {len(sources())} sources")
