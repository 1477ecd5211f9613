"""Samples as they stand on the wire, before their counters are unwrapped."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.core import Floats, Indices

__all__ = ["WireSamples"]


@dataclass(frozen=True, eq=False)
class WireSamples:
    """Samples of one stream in the order they arrived.

    Parameters
    ----------
    columns : dict of float64 arrays, shape (n,)
        Measured columns in SI (or counts), ``host_time`` in seconds; ``seq`` and ``device_time`` as
        on the wire.
    message : int64 array, shape (n,)
        Index of the message that carried each sample.
    saturated, bad_checksum, bad_frames, ignored_frames, dropped_bytes : int
        As in `StreamHealth`.
    samples_per_count : int
        Samples for each step of the sequence number on the wire, where it counts frames.
    """

    columns: dict[str, Floats]
    message: Indices
    saturated: int
    bad_checksum: int
    bad_frames: int
    ignored_frames: int
    dropped_bytes: int
    samples_per_count: int = 1
