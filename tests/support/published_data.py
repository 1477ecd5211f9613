"""Published values that tests are held to, each with its source and how far that source was verified.

One TOML table a source: `source`, what it `backs`, `verification` (one of `VERIFICATIONS`), `how` it was verified,
and the values under `data` or in a `file` beside it (with a `licence` where one asks for its notice). `cited_as`
lists the words by which code, tests and documents name the source; `cited.toml` holds works that give methods only.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parents[1] / "published"
VERIFICATIONS = ("seen and recomputed", "seen", "from memory")


@dataclass(frozen=True)
class Source:
    """One published work: what it backs, and whether anybody looked."""

    name: str
    source: str
    backs: str
    verification: str
    how: str = ""
    file: str = ""
    licence: str = ""
    cited_as: tuple[str, ...] = ()
    data: dict[str, Any] = field(default_factory=dict)


@cache
def sources() -> dict[str, Source]:
    """Every source by name, in the order of the files."""
    found: dict[str, Source] = {}
    for path in sorted(HERE.glob("*.toml")):
        for name, table in tomllib.loads(path.read_text(encoding="utf-8")).items():
            if name in found:
                raise ValueError(f"{path.name}: {name} is listed twice")
            found[name] = Source(name, **{**table, "cited_as": tuple(table.get("cited_as", ()))})
    return found


def published(name: str) -> dict[str, Any]:
    """The values of one source."""
    return sources()[name].data


def published_rows(name: str) -> list[dict[str, float]]:
    """The rows of a source that keeps its numbers in a file of comma-separated values."""
    lines = (HERE / sources()[name].file).read_text(encoding="utf-8").splitlines()
    head, *rows = (line.split(",") for line in lines if not line.startswith("#"))
    return [dict(zip(head, map(float, row), strict=True)) for row in rows]
