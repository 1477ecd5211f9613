"""Errors that two results have in common, so that they cancel in a difference."""

from __future__ import annotations

from feltload.app.files.provenance import Provenance
from feltload.app.jobs.facts import ComparisonFact
from feltload.core import Fact, Severity
from feltload.signal import BudgetSource


def shared_errors(first: Provenance, other: Provenance) -> tuple[tuple[BudgetSource, ...], tuple[Fact, ...]]:
    """Budget items whose error two results share, and what was assumed."""
    sources: list[BudgetSource] = []
    assumed: list[Fact] = []

    def assume(kind: ComparisonFact, **figures: str) -> None:
        assumed.append(Fact(kind, Severity.NOTE, figures=figures))

    if first.machine_toml is not None and first.machine_toml == other.machine_toml:
        sources.append(BudgetSource.START_ANGLE)
        assume(ComparisonFact.SAME_MACHINE_FILE)
    else:
        assume(ComparisonFact.OTHER_MACHINE_FILES)
    of_first, of_other = (
        {name for source in result.recordings for name in source.force_certificates}
        for result in (first, other)
    )
    complete = all(source.force_certificates for result in (first, other) for source in result.recordings)
    if not complete:
        assume(ComparisonFact.NO_COMMON_CERTIFICATE)
    elif len(of_first) == 1 and of_first == of_other:
        sources.append(BudgetSource.FORCE_GAIN)
        assume(ComparisonFact.SAME_CERTIFICATE)
    else:
        assume(ComparisonFact.OTHER_CERTIFICATES)
    in_both = {source.sha256 for source in first.recordings} & {source.sha256 for source in other.recordings}
    if in_both:
        names = sorted(source.name for source in other.recordings if source.sha256 in in_both)
        assume(ComparisonFact.SAME_RECORDINGS, recordings=", ".join(names))
    assume(ComparisonFact.REST_INDEPENDENT)
    return tuple(sources), tuple(assumed)
