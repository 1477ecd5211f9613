"""Errors of the calibration layer; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from feltload.core import FeltloadError


class CalibrationError(FeltloadError):
    """A calibration, a geometric model or a comparison cannot be made from what was given."""


class ReadingsError(CalibrationError):
    """Readings of a load cell cannot be used.

    Attributes
    ----------
    rows : tuple of int
        Line numbers in the readings file that the error is about; empty where it is about the whole file.
    """

    def __init__(
        self,
        what: str,
        *,
        where: str | None = None,
        remedy: str | None = None,
        rows: tuple[int, ...] = (),
    ) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.rows = rows


class OverloadError(ReadingsError):
    """The weights would load the cell above its rated capacity."""


class AttitudesError(CalibrationError):
    """The still attitudes are too few, or do not span what is to be calibrated."""


class MachineError(CalibrationError):
    """A machine file cannot be used."""


class GeometryError(MachineError):
    """The dimensions given cannot be assembled, or not over the whole travel."""


class DesignError(MachineError):
    """A design was asked for that cannot be: bounds, free dimensions or targets that do not go together."""


class AgreementError(CalibrationError):
    """A measured profile and a machine cannot be compared."""


class TargetError(CalibrationError):
    """A target curve cannot be read, lies outside the travel, or contradicts another."""
