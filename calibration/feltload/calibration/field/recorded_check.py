"""Field checks and zeros of a recording: a known weight hung on the cell while recording, and the zero's drift."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from feltload.acquisition import ForceCertificate, Mark, Recording, RigDescription
from feltload.calibration.field.check import FieldCheck, FieldCheckFact, check_in_the_field, covers
from feltload.calibration.force.applied import STAMPED_PLATE_U_RELATIVE
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import Fact, Figure, InputError, Quantity, Severity, parse_quantity

_READINGS: Final = ("force_counts", "force_mv_v", "force_n")
_FEWEST: Final = 3


@dataclass(frozen=True)
class RecordedCheck:
    """A known weight that hung on the cell for a while.

    Attributes
    ----------
    stream : str or None
        The cell that felt it; None where it cannot be determined.
    weight : str
        As it was stated.
    at_s : float
        From the start of the recording.
    applied_n : float
        Force of the weight.
    measured_n : float or None
        None where the cell's readings are no newtons.
    check : FieldCheck or None
        None without a certificate that covers it.
    fact : Fact
        The outcome.
    """

    stream: str | None
    weight: str
    at_s: float
    applied_n: float
    measured_n: float | None
    check: FieldCheck | None
    fact: Fact


def weight_force(text: str, *, where: str, gravity: Gravity | None = None) -> Quantity:
    """Force of a known weight, such as "10 kg", with its standard uncertainty.

    Without an uncertainty it counts as a stamped plate, within 2.5 %.

    Raises
    ------
    QuantityError
        If it is no mass.
    InputError
        If it is not positive.
    """
    mass = parse_quantity(text, "mass", where=where)
    if mass.value <= 0:
        raise InputError("a known weight is more than 0", where=where, remedy="state its mass")
    place = gravity or local_gravity()
    relative = STAMPED_PLATE_U_RELATIVE if mass.u is None else mass.u / mass.value
    force = mass.value * place.value
    return Quantity(force, force * float(np.hypot(relative, place.u / place.value)), text)


def refuse_overload(force_n: float, rig: RigDescription, *, where: str) -> None:
    """Refuse a weight above the rated capacity of a cell of the rig.

    Raises
    ------
    InputError
        Before anybody hangs it.
    """
    for stream in rig.streams:
        rated = stream.rated_capacity_n
        if stream.kind == "force" and rated is not None and force_n > rated:
            raise InputError(
                f'{force_n:.0f} N exceed the rated capacity of "{stream.name}", {rated:.0f} N',
                where=where,
                remedy="take a lighter weight; do not hang this one",
            )


def recorded_checks(recording: Recording, *, gravity: Gravity | None = None) -> tuple[RecordedCheck, ...]:
    """Outcome of every known weight that was hung while recording.

    Parameters
    ----------
    recording : Recording
        With "field-check" marks, whose text is the weight, and the hands-off window marked as "tare".
    gravity : Gravity, optional
        Of the place; without it standard gravity with a wide uncertainty.
    """
    marks = [mark for mark in recording.marks if mark.kind == "field-check" and mark.until_s is not None]
    return tuple(_outcome(recording, mark, gravity) for mark in marks)


def _outcome(recording: Recording, mark: Mark, gravity: Gravity | None) -> RecordedCheck:
    applied = weight_force(mark.text, where=f"{recording.where}: field check", gravity=gravity)
    cells = [
        check
        for name in recording.streams_of("force")
        if (check := _felt(recording, name, mark, applied)) is not None
    ]
    if cells:
        # The cell that the weight hangs on is the one that felt most.
        return max(cells, key=lambda cell: abs(cell.measured_n or 0.0))
    fact = _fact(FieldCheckFact.WITHOUT_READINGS, Severity.CAUTION, mark, "", applied_n=applied.value)
    return RecordedCheck(None, mark.text, mark.start_s, applied.value, None, None, fact)


def _felt(recording: Recording, name: str, mark: Mark, applied: Quantity) -> RecordedCheck | None:
    frame = recording.stream(name, raw=True)
    column = next(column for column in _READINGS if column in frame)
    rest = next((m for m in recording.marks if m.kind == "tare" and m.until_s is not None), None)
    zero, loaded = _level(frame, column, rest), _level(frame, column, mark)
    if zero is None or loaded is None:
        return None
    certificate = recording.certificate(name)
    check: FieldCheck | None = None
    measured: float | None = None
    if isinstance(certificate, ForceCertificate) and column != "force_n":
        measured = float(certificate.force_n(loaded) - certificate.force_n(zero))
        if covers(certificate, applied.value):
            check = check_in_the_field(
                certificate,
                applied_n=applied.value,
                u_applied_n=applied.u or 0.0,
                reading_zero=zero,
                reading_loaded=loaded,
            )
            measured = check.measured_n
        fact = _judged(certificate, check, mark, name, applied.value)
    elif column == "force_n":
        measured = loaded - zero
        fact = _fact(
            FieldCheckFact.WITHOUT_CERTIFICATE,
            Severity.CAUTION,
            mark,
            name,
            measured_n=measured,
            applied_n=applied.value,
        )
    else:
        fact = _fact(
            FieldCheckFact.READING_ONLY,
            Severity.CAUTION,
            mark,
            name,
            reading=loaded - zero,
            unit=column.removeprefix("force_"),
            applied_n=applied.value,
        )
    return RecordedCheck(name, mark.text, mark.start_s, applied.value, measured, check, fact)


def _judged(
    certificate: ForceCertificate, check: FieldCheck | None, mark: Mark, name: str, applied_n: float
) -> Fact:
    """What the certificate says about a weight."""
    if check is not None:
        kind, severity = (
            (FieldCheckFact.AGREES, Severity.NOTE)
            if check.agrees
            else (FieldCheckFact.DIFFERS, Severity.SERIOUS)
        )
        return _fact(
            kind, severity, mark, name, measured_n=check.measured_n, applied_n=applied_n, en=check.en
        )
    capacity = certificate.rated_capacity_n
    if capacity is not None and applied_n > capacity:
        return _fact(
            FieldCheckFact.ABOVE_CAPACITY,
            Severity.SERIOUS,
            mark,
            name,
            applied_n=applied_n,
            rated_capacity_n=capacity,
        )
    return _fact(
        FieldCheckFact.OUT_OF_RANGE,
        Severity.CAUTION,
        mark,
        name,
        applied_n=applied_n,
        highest_n=certificate.highest_n,
    )


def _fact(kind: FieldCheckFact, severity: Severity, mark: Mark, stream: str, **figures: Figure) -> Fact:
    span = None if mark.until_s is None else (mark.start_s, mark.until_s)
    return Fact(kind, severity, stream=stream, span_s=span, figures={"weight": mark.text, **figures})


def _level(frame: pd.DataFrame, column: str, window: Mark | None) -> float | None:
    """Median reading in a window: a hand that lets go within it does not shift it."""
    if window is None or window.until_s is None:
        return None
    inside = frame.loc[frame["host_s"].between(window.start_s, window.until_s), column].to_numpy(float)
    inside = inside[np.isfinite(inside)]
    return float(np.median(inside)) if inside.size >= _FEWEST else None
