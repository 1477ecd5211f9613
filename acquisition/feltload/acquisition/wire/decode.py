"""Bytes as they arrived and a stream description, turned into samples in SI and a count of faults."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.binary import read_frames
from feltload.acquisition.wire.counters import (
    ORDINARY_STEP_S,
    isolated_outliers,
    unwrap_clock,
    unwrap_sequence,
)
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.health import StreamHealth
from feltload.acquisition.wire.samples import WireSamples
from feltload.acquisition.wire.text import read_lines
from feltload.core import Flags, Floats

__all__ = ["Decoded", "decode"]

SILENCE_S = 0.5
"""A pause between arrivals that counts as a gap where a sensor has neither clock nor sequence."""


@dataclass(frozen=True, eq=False)
class Decoded:
    """Samples of one stream.

    Parameters
    ----------
    frame : DataFrame
        Columns ``host_s``, ``device_s``, ``seq`` (NaN where the sensor has none), then ``force_n``
        (``force_counts``, ``force_mv_v`` before a certificate) or ``gyro_x_rad_s`` ...
        ``accel_z_m_s2``. ``frame.attrs``: ``name``, ``kind``, ``side``, ``rate_hz``, and ``clock``:
        "arrival" where ``host_s`` is an arrival stamp (never early, often late) that has to be
        joined with ``device_s``; "common" where ``host_s`` is the time of the sample itself on one
        clock common to all streams.
    health : StreamHealth
    """

    frame: pd.DataFrame
    health: StreamHealth


def decode(
    messages: Arrivals | Iterable[tuple[int, bytes]],
    description: StreamDescription,
    *,
    origin_ns: int = 0,
    siblings: Sequence[StreamDescription] = (),
) -> Decoded:
    """Decode one stream; a pure function of the bytes and the description.

    Parameters
    ----------
    messages : Arrivals, or (host_ns, bytes) pairs
        What arrived, in order. Empty bytes say that the link was opened again.
    description : StreamDescription
    origin_ns : int
        Host time of the recording's start; ``host_s`` counts from it.
    siblings : sequence of StreamDescription
        Other streams whose frames come over the same link.

    Returns
    -------
    Decoded
    """
    arrivals = messages if isinstance(messages, Arrivals) else Arrivals.from_pairs(messages)
    if description.framing == "lines":
        wire = read_lines(arrivals, description)
    else:
        wire = read_frames(arrivals, description, siblings)
    outliers = _outliers(wire, description)
    wire_columns, message = wire.columns, wire.message
    if outliers.any():
        wire_columns = {name: values[~outliers] for name, values in wire_columns.items()}
        message = message[~outliers]
    n = message.size
    host_s: Floats = (arrivals.host_ns[message] - origin_ns) * np.float64(1e-9)
    if description.timing == "column":
        host_s = wire_columns["host_time"] + description.host_offset_s
    elif description.timing == "common" and n:
        host_s = wire_columns["device_time"] + description.host_offset_s
    none = np.full(n, np.nan)
    device_s, seq, restarts, jumps = none, none, np.zeros(n, dtype=bool), 0
    clock = description.field("device_time")
    if clock is not None and n:
        unwrapped = unwrap_clock(wire_columns["device_time"], clock.counter_size, clock.si_factor, host_s)
        device_s, restarts, jumps = unwrapped.device_s, unwrapped.restarts, unwrapped.jumps
    repeated = np.zeros(n, dtype=bool)
    elapsed = np.diff(host_s if clock is None else device_s) if n else np.zeros(0)
    lost, gaps = _missing_by_time(elapsed, restarts, description.rate_hz, has_clock=clock is not None)
    counter = description.field("seq")
    if counter is not None and n:
        passed = np.where(restarts[1:], np.diff(host_s), elapsed)
        counted = unwrap_sequence(
            wire_columns["seq"], counter.counter_size, restarts, passed, description.rate_hz
        )
        seq, restarts, repeated = counted.seq, counted.restarts, counted.repeated
        lost, gaps = counted.lost, counted.gaps
    columns = {"host_s": host_s, "device_s": device_s, "seq": seq}
    columns |= {name: values for name, values in wire_columns.items() if name not in _TIMES}
    frame = pd.DataFrame(columns, copy=False)
    if repeated.any():
        frame = frame[~repeated].reset_index(drop=True)
    frame.attrs.update(
        name=description.name,
        kind=description.kind,
        side=description.side,
        rate_hz=description.rate_hz,
        clock="common" if description.timing == "common" else "arrival",
    )
    force = wire_columns.get("force_n", np.zeros(0))
    capacity = description.rated_capacity_n
    duration = float(host_s[-1] - host_s[0]) if n else 0.0
    steps = elapsed[~restarts[1:]] if n else elapsed
    health = StreamHealth(
        name=description.name,
        samples=len(frame),
        duration_s=duration,
        rate_hz=_rate(host_s, device_s, restarts),
        bad_checksum=wire.bad_checksum,
        bad_frames=wire.bad_frames + int(outliers.sum()),
        ignored_frames=wire.ignored_frames,
        lost=lost,
        gaps=gaps,
        longest_gap_s=float(steps.max()) if steps.size else 0.0,
        resets=int(restarts.sum()),
        clock_jumps=jumps,
        duplicates=int(repeated.sum()),
        saturated=wire.saturated,
        overloads=int((np.abs(force) > capacity).sum()) if capacity is not None else 0,
        peak_force_n=float(np.abs(force).max()) if force.size else float("nan"),
        dropped_bytes=wire.dropped_bytes,
    )
    return Decoded(frame, health)


_TIMES = {"host_time", "device_time", "interval", "seq"}


def _outliers(wire: WireSamples, description: StreamDescription) -> Flags:
    """Samples whose clock or sequence number cannot be right."""
    out = np.zeros(wire.message.size, dtype=bool)
    for name in ("device_time", "seq"):
        item = description.field(name)
        if item is None or name not in wire.columns or description.timing == "common":
            continue
        second = 1.0 / item.si_factor if name == "device_time" else description.rate_hz or 1000.0
        out |= isolated_outliers(wire.columns[name], item.counter_size, ORDINARY_STEP_S * second)
    return out


def _missing_by_time(
    elapsed: Floats, restarts: Flags, rate_hz: float | None, *, has_clock: bool
) -> tuple[int, int]:
    """Samples lost and gaps by the time between samples, for sensors without a sequence number."""
    if not elapsed.size:
        return 0, 0
    period = 1.0 / rate_hz if rate_hz is not None else float(np.median(elapsed))
    if not period > 0:
        return 0, 0
    limit = 1.75 * period if has_clock else max(SILENCE_S, 10.0 * period)
    wide = elapsed[(elapsed > limit) & ~restarts[1:]]
    return int(np.round(wide / period - 1.0).sum()), int(wide.size)


def _rate(host_s: Floats, device_s: Floats, restarts: Flags) -> float:
    """Mean rate of the samples that arrived."""
    if host_s.size < 2:
        return float("nan")
    clocked = not restarts.any() and np.isfinite(device_s[0])
    span = float(device_s[-1] - device_s[0]) if clocked else float(host_s[-1] - host_s[0])
    return (host_s.size - 1) / span if span > 0 else float("nan")
