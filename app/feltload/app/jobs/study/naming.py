"""What the names of files and measurements say: a pattern with places for machine, operator, day and remount."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.coaching import FACTORS

PLACE = re.compile(r"\{(\w+)\}")


def labels_by_name(names: str | None, where: str) -> Callable[[str], Mapping[str, str]]:
    """Labels by the name of a measurement in a dataset."""
    pattern = None if names is None else name_pattern(names, where)

    def said(name: str) -> Mapping[str, str]:
        match = None if pattern is None else pattern.fullmatch(name)
        if pattern is not None and match is None:
            raise UsageError(
                f'"{name}" is not named as "{names}"',
                where=where,
                remedy="leave names out, or label it in the dataset",
            )
        return {} if match is None else match.groupdict()

    return said


def labels_said(pattern: re.Pattern[str], path: Path) -> dict[str, str] | None:
    """What the name of a file or folder says; None where it is of another form."""
    match = pattern.fullmatch(path.stem if path.is_file() else path.name)
    return None if match is None else match.groupdict()


def name_pattern(names: str, where: str) -> re.Pattern[str]:
    places = PLACE.findall(names)
    wrong = [place for place in places if place not in FACTORS]
    if wrong or not places or len(set(places)) < len(places):
        raise UsageError(
            f'names = "{names}" has no place for a factor'
            if not places
            else f'names = "{names}" is not possible',
            where=where,
            remedy=f"each at most once: {', '.join(f'{{{name}}}' for name in FACTORS)}",
        )
    parts = PLACE.split(names)
    # What stands between two places may not stand within one: "row-1-kim" could be read in two ways.
    between = "|".join(re.escape(part) for part in parts[2:-1:2] if part)
    label = f"(?:(?!{between}).)+" if between else ".+"
    return re.compile(
        "".join(f"(?P<{part}>{label})" if k % 2 else re.escape(part) for k, part in enumerate(parts))
    )
