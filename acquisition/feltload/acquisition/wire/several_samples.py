"""Frames of several samples with one stamp: sequence number and clock of each sample."""

from __future__ import annotations

import numpy as np

from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import Floats, Indices

__all__ = ["COUNT", "PLACE", "count_on"]

PLACE, COUNT = "place in frame", "samples in frame"
"""Columns that go with the samples until they are counted on: some of a frame may have been left out."""


def count_on(columns: dict[str, Floats], frames: Indices, description: StreamDescription) -> int:
    """Count on from the stamp of each frame to its samples, in place.

    Parameters
    ----------
    columns : dict of float64 arrays, shape (n,)
        With ``seq`` and ``device_time`` as on the wire, equal for all samples of a frame where they are
        fields of the frame; ``interval`` in seconds; `PLACE` and `COUNT`, which are taken out.
    frames : int64 array, shape (n,)
        Index of the frame of each sample, ascending.
    description : StreamDescription

    Returns
    -------
    int
        Samples for each step of the sequence number.
    """
    own = {item.name for item in description.records}
    if not frames.size:
        return 1
    place, counts = columns.pop(PLACE), columns.pop(COUNT)
    index = place if description.stamp == "first" else place - (counts - 1.0)
    per_count = 1
    counter = description.field("seq")
    if counter is not None and "seq" in columns and "seq" not in own:
        if counter.counts == "frames":
            per_count = int(np.median(counts))
            # Samples of a frame are numbered from its own number on, whichever of them has the stamp.
            columns["seq"] = columns["seq"] * per_count + place
        else:
            columns["seq"] = columns["seq"] + index
    clock = description.field("device_time")
    if clock is not None and "device_time" in columns and "device_time" not in own:
        if "interval" in columns:
            step = columns["interval"] / clock.si_factor
        else:
            first = np.flatnonzero(np.diff(frames, prepend=frames[0] - 1))
            step = np.full(frames.size, _interval(columns["device_time"][first], counts[first], description))
        columns["device_time"] = columns["device_time"] + index * step
    return per_count


def _interval(stamps: Floats, counts: Floats, description: StreamDescription) -> float:
    """Time between the samples of a frame, in counts of the clock, by the stamps of neighbouring frames."""
    clock = description.field("device_time")
    assert clock is not None
    steps = np.diff(stamps)
    if clock.counter_size is not None:
        steps = np.mod(steps, clock.counter_size)
    each = steps / (counts[:-1] if description.stamp == "first" else counts[1:])
    each = each[each > 0]
    if each.size:
        middle = float(np.median(each))
        # Lost frames and restarts make steps that are none; of the others a coarse clock needs the mean.
        return float(each[np.abs(each - middle) <= 0.5 * middle].mean())
    rate_hz = description.rate_hz
    return 0.0 if rate_hz is None else 1.0 / (rate_hz * clock.si_factor)
