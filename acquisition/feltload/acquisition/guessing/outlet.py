"""Samples of an outlet of the Lab Streaming Layer: what their channels mean."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from feltload.acquisition.guessing.fields.meaning import read_meaning
from feltload.acquisition.guessing.fields.raw_column import RawColumn
from feltload.core import Fact

__all__ = ["describe_outlet"]


def describe_outlet(messages: list[tuple[int, bytes]]) -> list[tuple[dict[str, Any], list[Fact]]]:
    """Describe the streams of samples that came as f64: time stamp, then channels.

    Parameters
    ----------
    messages : list of (int, bytes)
        Each of one or more samples.
    """
    width = math.gcd(*(len(data) for _, data in messages)) // 8
    if width < 2:
        return []
    table = np.concatenate([np.frombuffer(data, dtype="<f8").reshape(-1, width) for _, data in messages])
    stamps = table[:, 0]
    if stamps.size < 10 or stamps[-1] <= stamps[0]:
        return []
    columns = [RawColumn({"type": "f64"}, channel, None, True, False) for channel in table[:, 1:].T]
    rate_hz = (stamps.size - 1) / float(stamps[-1] - stamps[0])
    clock = {"name": "device_time", "type": "f64", "unit": "s"}
    return [
        (
            {
                "kind": meaning.kind,
                "framing": "notification",
                "rate_hz": rate_hz,
                "records": [clock, *meaning.fields],
            },
            [fact for fact in meaning.facts if not str(fact.kind).startswith("clock")],
        )
        for meaning in read_meaning(columns, stamps - stamps[0], text=False, several=False)
    ]
