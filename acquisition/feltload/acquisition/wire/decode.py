"""Bytes as they arrived and a stream description, turned into samples in SI and a count of faults."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.binary import read_frames
from feltload.acquisition.wire.counting.counters import ORDINARY_STEP_S, isolated_outliers
from feltload.acquisition.wire.counting.timeline import Counter, count_timeline
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.health import StreamHealth
from feltload.acquisition.wire.samples import WireSamples
from feltload.acquisition.wire.text import read_lines
from feltload.core import Flags, Floats

__all__ = ["Decoded", "decode"]


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
    time = count_timeline(
        host_s,
        message,
        _counter(wire_columns, description, "device_time"),
        _counter(wire_columns, description, "seq", each=wire.samples_per_count),
        rate_hz=description.rate_hz,
        common=description.timing == "common",
    )
    columns = {"host_s": host_s, "device_s": time.device_s, "seq": time.seq}
    columns |= {name: values for name, values in wire_columns.items() if name not in _TIMES}
    frame = pd.DataFrame(columns, copy=False)
    if time.repeated.any():
        frame = frame[~time.repeated].reset_index(drop=True)
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
    health = StreamHealth(
        name=description.name,
        samples=len(frame),
        duration_s=duration,
        rate_hz=_rate(host_s, time.device_s, time.restarts),
        bad_checksum=wire.bad_checksum,
        bad_frames=wire.bad_frames + int(outliers.sum()),
        ignored_frames=wire.ignored_frames,
        lost=time.lost,
        gaps=time.gaps,
        uncounted=time.uncounted,
        longest_gap_s=time.longest_gap_s,
        resets=int(time.restarts.sum()),
        clock_jumps=time.jumps,
        wraps=time.wraps,
        duplicates=int(time.repeated.sum()),
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


def _counter(
    columns: dict[str, Floats], description: StreamDescription, name: str, *, each: int = 1
) -> Counter | None:
    """A counter of the stream as it stands on the wire, None if it has none; `each` samples are one step of it."""
    item = description.field(name)
    if item is None or name not in columns:
        return None
    size = None if item.counter_size is None else item.counter_size * each
    return Counter(columns[name], size, item.si_factor if name == "device_time" else 1.0)


def _rate(host_s: Floats, device_s: Floats, restarts: Flags) -> float:
    """Mean rate of the samples that arrived."""
    if host_s.size < 2:
        return float("nan")
    # A clock that began again somewhere does not span the recording.
    clocked = not restarts.any() and np.isfinite(device_s[0]) and device_s[-1] > device_s[0]
    span = float(device_s[-1] - device_s[0]) if clocked else float(host_s[-1] - host_s[0])
    return (host_s.size - 1) / span if span > 0 else float("nan")
