"""Known weights that hung on the cell while it was recorded, as results keep and say them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.acquisition import Recording
from feltload.app.files.provenance import FieldCheckState
from feltload.calibration import Gravity, RecordedCheck, recorded_checks
from feltload.core import Fact, Severity
from feltload.signal import FieldCheckRecord, ProfileFact


def field_checks_of(recording: Recording, gravity: Gravity | None = None) -> tuple[FieldCheckState, ...]:
    """Outcome of every known weight of a recording."""
    return tuple(_state(check) for check in recorded_checks(recording, gravity=gravity))


def _state(check: RecordedCheck) -> FieldCheckState:
    return FieldCheckState(
        stream=check.stream,
        weight=check.weight,
        at_s=check.at_s,
        applied_n=check.applied_n,
        measured_n=check.measured_n,
        en=None if check.check is None else check.check.en,
        agrees=None if check.check is None else check.check.agrees,
        fact=check.fact,
    )


def field_check_records(
    paths: Sequence[Path], checks: Sequence[tuple[FieldCheckState, ...]]
) -> tuple[FieldCheckRecord, ...]:
    """Outcomes of all recordings as a profile's health keeps them."""
    return tuple(
        FieldCheckRecord(
            session=path.stem,
            stream=check.stream,
            weight=check.weight,
            at_s=check.at_s,
            applied_n=check.applied_n,
            measured_n=check.measured_n,
            en=check.en,
            agrees=check.agrees,
        )
        for path, of_one in zip(paths, checks, strict=True)
        for check in of_one
    )


def field_check_facts(records: Sequence[FieldCheckRecord]) -> tuple[Fact, ...]:
    """A fact for each check that does not agree: the forces of that recording are in doubt."""
    return tuple(
        Fact(
            ProfileFact.FIELD_CHECK_DISAGREES,
            Severity.SERIOUS,
            record.session,
            record.stream or "",
            figures={"weight": record.weight},
        )
        for record in records
        if record.agrees is False
    )
