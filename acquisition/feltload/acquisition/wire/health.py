"""What went wrong on the way from a sensor to the file, counted per stream."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Final

__all__ = ["StreamHealth"]


_SAID: Final = {
    "bad_checksum": (
        "1 frame arrived damaged (checksum) and was left out",
        "{n} frames arrived damaged (checksum) and were left out",
    ),
    "bad_frames": (
        "1 frame or line could not be read and was left out",
        "{n} frames or lines could not be read and were left out",
    ),
    "lost": ("1 sample is missing", "{n} samples are missing"),
    "resets": ("the sensor started again once", "the sensor started again {n} times"),
    "clock_jumps": ("the sensor's clock jumped once", "the sensor's clock jumped {n} times"),
    "saturated": (
        "1 sample is at the end of the sensor's range",
        "{n} samples are at the end of the sensor's range",
    ),
    "overloads": (
        "1 force sample is above the rated capacity of the cell",
        "{n} force samples are above the rated capacity of the cell",
    ),
    "dropped_messages": (
        "1 message could not be kept by the recorder",
        "{n} messages could not be kept by the recorder",
    ),
}
"""What is said of each count, for one and for several."""


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
        Samples missing by the sequence counter, or else by the clock and the expected rate.
    gaps : int
        Places where samples are missing.
    longest_gap_s : float
        Longest time between neighbouring samples.
    resets : int
        Times the board started again (clock and sequence begin anew).
    clock_jumps : int
        Times the sensor's clock leapt without a matching pause.
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
    notes : tuple of str
        Plain sentences for a person.
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
    longest_gap_s: float = 0.0
    resets: int = 0
    clock_jumps: int = 0
    duplicates: int = 0
    saturated: int = 0
    overloads: int = 0
    peak_force_n: float = float("nan")
    dropped_bytes: int = 0
    dropped_messages: int = 0
    notes: tuple[str, ...] = field(default=())

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; a NaN becomes None."""
        values = asdict(self)
        values["notes"] = list(self.notes)
        return {
            key: None if isinstance(value, float) and value != value else value
            for key, value in values.items()
        }

    def warnings(self) -> list[str]:
        """Plain sentences about everything that is not as it should be."""
        return [
            f"{self.name}: {(one if getattr(self, key) == 1 else many).format(n=getattr(self, key))}"
            for key, (one, many) in _SAID.items()
            if getattr(self, key)
        ] + [f"{self.name}: {note}" for note in self.notes]
