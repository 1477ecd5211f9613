"""Versions of Python, of this program, and of the libraries that it and its extras need."""

from __future__ import annotations

import platform
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution, version

from packaging.requirements import Requirement

from feltload.app.doctor.facts import DoctorFact
from feltload.core import Fact, Figure, Severity

FOR_DEVELOPERS = ("dev", "docs")
"""Extras that no measurement needs."""


def examine_libraries() -> tuple[Fact, ...]:
    """A fact for all libraries that suit, one for each that does not, and one for each extra."""
    described = distribution("feltload")
    needed = [Requirement(text) for text in described.requires or ()]
    plain = [item for item in needed if _applies(item)]
    faults = [fact for fact in map(library_fault, plain) if fact is not None]
    figures: dict[str, Figure] = {
        "feltload": described.version,
        "python": platform.python_version(),
        "count": len(plain) - len(faults),
    }
    sound = Fact(DoctorFact.LIBRARIES_SOUND, Severity.NOTE, figures=figures)
    return (sound, *faults, *_extras(described.metadata.get_all("Provides-Extra") or [], needed))


def library_fault(item: Requirement) -> Fact | None:
    """What is wrong with a library; None for nothing."""
    try:
        there = version(item.name)
    except PackageNotFoundError:
        return Fact(DoctorFact.LIBRARY_MISSING, Severity.SERIOUS, figures={"library": item.name})
    if item.specifier.contains(there, prereleases=True):
        return None
    figures = {"library": item.name, "version": there, "needed": str(item.specifier)}
    return Fact(DoctorFact.LIBRARY_UNSUITED, Severity.SERIOUS, figures=figures)


def _applies(item: Requirement, extra: str = "") -> bool:
    return item.marker is None or item.marker.evaluate({"extra": extra})


def _extras(extras: list[str], needed: list[Requirement]) -> Iterator[Fact]:
    for extra in extras:
        if extra in FOR_DEVELOPERS:
            continue
        own = [
            item
            for item in needed
            if item.marker is not None and not _applies(item) and _applies(item, extra)
        ]
        missing = tuple(item.name for item in own if library_fault(item) is not None)
        kind = DoctorFact.EXTRA_ABSENT if missing else DoctorFact.EXTRA_READY
        yield Fact(kind, Severity.NOTE, figures={"extra": extra, "missing": missing})
