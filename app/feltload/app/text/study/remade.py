"""A result made again, compared with what it was, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.app.jobs.remaking.comparing import LIMIT, FolderComparison

MOST: Final = 12
"""Lines about differences that are printed; JSON has all."""


def remade_lines(found: FolderComparison, before: Mapping[str, str], after: Mapping[str, str]) -> list[str]:
    """What differs, by how much, and why it may.

    Parameters
    ----------
    found : FolderComparison
    before, after : mapping of str to str
        Versions of what made the two.
    """
    places = found.above()
    lines = [f"{place} differs by {_size(value)}" for place, value in places.items()]
    lines += [f"Missing on one side: {line}" for line in found.structure]
    lines += [f"Other words: {line}" for line in found.words]
    left = len(lines) - MOST
    lines = lines[:MOST] + ([f"and {left} more (--json lists all)"] if left > 0 else [])
    counted = f"{len(found.largest)} numbers and lists of numbers in {found.files} files"
    if not found.same:
        return [*lines, f"Compared: {counted}.", _why(before, after)]
    if found.most == 0.0:
        return [f"Every number is the same, bit for bit: {counted}."]
    return [f"Every number is the same but for rounding, {_size(found.most)} at most: {counted}."]


def _size(relative: float) -> str:
    if relative == float("inf"):
        return "a number where there was none, or the other way round"
    return f"up to {relative:.1g} of the largest value beside it"


def _why(before: Mapping[str, str], after: Mapping[str, str]) -> str:
    changed = [
        f"{name} {before.get(name) or 'not known'}, now {after.get(name) or 'not known'}"
        for name in sorted({*before, *after})
        if before.get(name) != after.get(name)
    ]
    if changed:
        return f"It was made with other versions, which may explain it: {'; '.join(changed)}."
    return (
        "The versions and all that it was given are the same: its files were changed since, or another processor or "
        f"number of threads rounds otherwise by more than {LIMIT:g}."
    )
