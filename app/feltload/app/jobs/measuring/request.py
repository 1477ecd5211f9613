"""What is to be measured, and how: everything that a measurement is made from, by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from feltload.app.files.inputs import place_gravity
from feltload.app.jobs.measuring.measurement import Measurement, measure
from feltload.app.options import ReplacedFiles


@dataclass(frozen=True)
class MeasurementRequest:
    """Recordings of one machine, and how to measure it from them.

    Attributes
    ----------
    recordings : tuple of Path
    machine, rig : Path or None
        Files to use in place of those in the recordings.
    certificates : tuple of Path
        Certificates, as FILE or STREAM=FILE.
    side : str or None
        Arm to measure.
    accept_expired : bool
        Use certificates past their expiry.
    unhelped : bool
        Nobody helped in recordings that do not say so.
    latitude, height : str or None
        Place of the recording, as written.
    """

    recordings: tuple[Path, ...]
    machine: Path | None = None
    rig: Path | None = None
    certificates: tuple[Path, ...] = ()
    side: str | None = None
    accept_expired: bool = False
    unhelped: bool = False
    latitude: str | None = None
    height: str | None = None

    def measure(self, advance: Callable[[float], None] = lambda done: None) -> Measurement:
        """Measure it.

        Raises
        ------
        FeltloadError
            As `feltload.app.jobs.measuring.measurement.measure` raises.
        """
        return measure(
            self.recordings,
            replaced=ReplacedFiles(rig=self.rig, machine=self.machine),
            side=self.side,
            certificates=self.certificates,
            accept_expired=self.accept_expired,
            unhelped=self.unhelped,
            gravity=place_gravity(self.latitude, self.height),
            advance=advance,
        )
