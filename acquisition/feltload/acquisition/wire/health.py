"""What went wrong on the way from a sensor to the file, counted per stream."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Final

from feltload.acquisition.wire.facts import HealthFact
from feltload.core import Fact, Severity

__all__ = ["StreamHealth"]


_COUNTED: Final = {
    "bad_checksum": (HealthFact.FRAMES_DAMAGED, Severity.CAUTION),
    "bad_frames": (HealthFact.FRAMES_UNREADABLE, Severity.CAUTION),
    "lost": (HealthFact.SAMPLES_MISSING, Severity.CAUTION),
    "uncounted": (HealthFact.LOSS_NOT_COUNTED, Severity.CAUTION),
    "resets": (HealthFact.SENSOR_RESTARTED, Severity.CAUTION),
    "clock_jumps": (HealthFact.SENSOR_CLOCK_JUMPED, Severity.CAUTION),
    "saturated": (HealthFact.RANGE_END_REACHED, Severity.CAUTION),
    "overloads": (HealthFact.ABOVE_RATED_CAPACITY, Severity.SERIOUS),
    "dropped_messages": (HealthFact.MESSAGES_NOT_KEPT, Severity.CAUTION),
}
"""Counts that are facts when they are not zero."""


@dataclass(frozen=True)
class StreamHealth:
    """Health of one stream over a stretch of a recording.

    Parameters
    ----------
    name : str
        Stream name.
    samples : int
        Samples that decoded.
    duration_s : float
        From the first to the last arrival.
    rate_hz : float
        Rate of the samples that arrived; NaN with fewer than two.
    bad_checksum, bad_frames : int
        Frames whose checksum failed; frames or lines of a wrong shape (length, columns, numbers).
    ignored_frames : int
        Sound frames that belong to another stream of the same link, and lines of plain text.
    lost : int
        Samples missing, as numbers, clock, rate and arrivals show them together.
    gaps : int
        Places where samples are missing.
    uncounted : int
        Those of them whose number of samples cannot be determined; they are not in `lost`.
    longest_gap_s : float
        Longest time between neighbouring samples.
    resets : int
        Times the board started again (clock and sequence begin again).
    clock_jumps : int
        Times the sensor's clock leapt without a matching pause.
    wraps : mapping of str to int
        Fields that start again at 0 though their description does not say so, and after which count.
    duplicates : int
        Samples sent twice and kept once.
    saturated : int
        Samples at the end of the converter's range.
    overloads : int
        Force samples above the rated capacity.
    peak_force_n : float
        Largest absolute force before tare; NaN if not a force in newtons.
    dropped_bytes : int
        Bytes in frames that were refused, cut or incomplete.
    dropped_messages : int
        Messages the recorder could not keep (full queue or disk), as it reported.
    """

    name: str
    samples: int = 0
    duration_s: float = 0.0
    rate_hz: float = float("nan")
    bad_checksum: int = 0
    bad_frames: int = 0
    ignored_frames: int = 0
    lost: int = 0
    gaps: int = 0
    uncounted: int = 0
    longest_gap_s: float = 0.0
    resets: int = 0
    clock_jumps: int = 0
    wraps: Mapping[str, int] = field(default_factory=dict)
    duplicates: int = 0
    saturated: int = 0
    overloads: int = 0
    peak_force_n: float = float("nan")
    dropped_bytes: int = 0
    dropped_messages: int = 0

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON, with the facts that follow from them; a NaN becomes None."""
        values = {
            key: None if isinstance(value, float) and not math.isfinite(value) else value
            for key, value in asdict(self).items()
        }
        return {**values, "facts": [fact.to_dict() for fact in self.facts()]}

    def facts(self) -> tuple[Fact, ...]:
        """Everything that is not as it should be."""
        counted = (
            Fact(kind, severity, stream=self.name, figures={"count": getattr(self, name)})
            for name, (kind, severity) in _COUNTED.items()
            if getattr(self, name)
        )
        wraps = (
            Fact(
                HealthFact.WRAP_NOT_DESCRIBED,
                Severity.NOTE,
                stream=self.name,
                figures={"field": name, "wrap": wrap},
            )
            for name, wrap in self.wraps.items()
        )
        return (*counted, *wraps)
