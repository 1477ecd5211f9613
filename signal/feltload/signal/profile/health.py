"""Figures about the data behind a profile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self


@dataclass(frozen=True)
class FieldCheckRecord:
    """A known weight that hung on the cell while it was recorded.

    Attributes
    ----------
    session : str
        Name of the recording.
    stream : str or None
    weight : str
        Mass as it was stated, such as "10.0(0.1) kg".
    at_s : float
        When, on the recording's timeline.
    applied_n, measured_n : float or None
        Its force, and the force read.
    en : float or None
        Normalised error; None where nothing is known to judge by.
    agrees : bool or None
        Whether it lies within the stated uncertainties; None likewise.
    """

    session: str
    stream: str | None = None
    weight: str = ""
    at_s: float | None = None
    applied_n: float | None = None
    measured_n: float | None = None
    en: float | None = None
    agrees: bool | None = None


@dataclass(frozen=True)
class ProfileHealth:
    """Figures about the data behind a profile.

    Attributes
    ----------
    residual_n : float
        Robust scatter of the force about the fit.
    rows_used : int
        Rows of the regression that count.
    rows_rejected_percent : float
    movements : int
        Half-repetitions.
    cutoff_hz : float
        Cut-off of the low-pass on both sides of the equation.
    field_checks : tuple of FieldCheckRecord
    """

    residual_n: float
    rows_used: int
    rows_rejected_percent: float
    movements: int
    cutoff_hz: float
    field_checks: tuple[FieldCheckRecord, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {**asdict(self), "field_checks": [asdict(check) for check in self.field_checks]}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> Self:
        """Read back.

        Raises
        ------
        TypeError, KeyError
            If it is no such record.
        """
        checks = tuple(FieldCheckRecord(**check) for check in stored["field_checks"])
        return cls(**{**stored, "field_checks": checks})
