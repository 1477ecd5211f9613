"""Known weights that hung on the cell while it was recorded, as results keep and say them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.acquisition import Recording
from feltload.app.files.provenance import FieldCheckState
from feltload.calibration import Gravity, RecordedCheck, recorded_checks


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


def field_check_health(
    paths: Sequence[Path], checks: Sequence[tuple[FieldCheckState, ...]]
) -> dict[str, float | int | str | bool]:
    """Entries of a profile's health: the kind of each outcome, and whether it agrees where that is known."""
    entries: dict[str, float | int | str | bool] = {}
    for path, of_one in zip(paths, checks, strict=True):
        for number, check in enumerate(of_one, start=1):
            key = f"field_check_{path.stem}" + (f"_{number}" if number > 1 else "")
            entries[key] = check.text or "" if check.fact is None else str(check.fact.kind)
            if check.agrees is not None:
                entries[f"{key}_agrees"] = check.agrees
    return entries


def field_check_warnings(
    paths: Sequence[Path], checks: Sequence[tuple[FieldCheckState, ...]]
) -> tuple[str, ...]:
    """A warning for each check that does not agree: the forces of that recording are in doubt."""
    return tuple(
        f"{path.stem}: the field check with {check.weight} does not agree with the certificate, so its forces are "
        "in doubt; check cell, cable and settings, and calibrate again"
        for path, of_one in zip(paths, checks, strict=True)
        for check in of_one
        if check.agrees is False
    )
