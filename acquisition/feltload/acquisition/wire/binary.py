"""Samples from binary frames, many frames at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.frame_layout import (
    FrameLayout,
    can_be_frame,
    checksum_holds,
    field_place,
    frame_layout,
)
from feltload.acquisition.wire.framing.cobs_frames import cobs_columns
from feltload.acquisition.wire.framing.cut import CutFrames, cut_frames
from feltload.acquisition.wire.framing.pieces import Pieces, gather_columns
from feltload.acquisition.wire.numbers import wire_numbers
from feltload.acquisition.wire.samples import WireSamples
from feltload.acquisition.wire.several_samples import COUNT, PLACE, count_on
from feltload.core import Bytes, Flags, Floats, Indices

__all__ = ["read_frames"]

_BLOCK = 1 << 15
"""Frames worked on together: their bytes stay in the processor's cache."""


@dataclass
class _Tally:
    """Counts while the frames of one stream are gone through."""

    saturated: int = 0
    bad_checksum: int = 0
    bad_frames: int = 0
    ignored_frames: int = 0
    dropped_bytes: int = 0
    parts: list[tuple[dict[str, Floats], Indices]] = field(default_factory=list)


def read_frames(
    arrivals: Arrivals, description: StreamDescription, siblings: Sequence[StreamDescription] = ()
) -> WireSamples:
    """Samples of one binary stream.

    Parameters
    ----------
    arrivals : Arrivals
    description : StreamDescription
        Of any framing but "lines".
    siblings : sequence of StreamDescription
        Other streams of the same link: frames of their lengths are theirs to judge.
    """
    cut = cut_frames(arrivals, description, siblings)
    pieces = cut.pieces
    overhead = 1 if description.framing == "cobs" else 0
    tally = _Tally(
        bad_checksum=cut.bad_checksum,
        bad_frames=cut.bad_frames,
        ignored_frames=cut.ignored_frames,
        dropped_bytes=pieces.loose_bytes,
    )
    for length in np.unique(pieces.lengths):
        size = int(length) - overhead
        chosen = np.flatnonzero(pieces.lengths == length)
        if not can_be_frame(description, size):
            if any(can_be_frame(other, size) for other in siblings):
                tally.ignored_frames += chosen.size
            else:
                tally.bad_frames += chosen.size - int(pieces.fresh[chosen].sum())
                tally.dropped_bytes += int(length) * chosen.size
            continue
        for start in range(0, chosen.size, _BLOCK):
            _read_block(cut, chosen[start : start + _BLOCK], int(length), description, tally)
    return _joined(description, pieces, tally)


def _read_block(
    cut: CutFrames, chosen: Indices, length: int, description: StreamDescription, tally: _Tally
) -> None:
    pieces = cut.pieces
    payload = gather_columns(cut.data, pieces.starts[chosen], length)
    good = cut.sound[chosen] if cut.sound is not None else np.ones(chosen.size, dtype=bool)
    if description.framing == "cobs":
        payload, good = cobs_columns(payload)
    tally.bad_frames += int((~good & ~pieces.fresh[chosen]).sum())
    if description.checksum is not None and not cut.checked:
        passed = checksum_holds(payload, description.checksum)
        tally.bad_checksum += int((good & ~passed & ~pieces.fresh[chosen]).sum())
        good = good & passed
    tally.dropped_bytes += length * int((~good).sum())
    if not good.all():
        payload, chosen = payload[:, good], chosen[good]
    for flags, rows in _by_flags(payload, description):
        part = payload if rows is None else payload[:, rows]
        frames = chosen if rows is None else chosen[rows]
        layout = frame_layout(description, payload.shape[0], flags)
        if layout is None:
            tally.bad_frames += frames.size
            tally.dropped_bytes += length * frames.size
        else:
            _read_layout(part, frames, layout, tally)


def _by_flags(payload: Bytes, description: StreamDescription) -> list[tuple[int | None, Indices | None]]:
    """Rows of equal flags, so that each set has one layout."""
    presence = next((item.present_if for item in description.fields if item.present_if), None)
    if presence is None:
        return [(None, None)]
    item, offset = field_place(description, presence.field)
    flags = wire_numbers(payload, offset, item)
    return [(int(value), np.flatnonzero(flags == value)) for value in np.unique(flags)]


def _read_layout(payload: Bytes, frames: Indices, layout: FrameLayout, tally: _Tally) -> None:
    """Read the frames of one layout; frames of another stream are ignored."""
    header = {item.name: (item, wire_numbers(payload, offset, item)) for item, offset in layout.header}
    good = np.ones(frames.size, dtype=bool)
    for item, wire in header.values():
        if item.equals is not None:
            good &= wire == item.equals
    tally.ignored_frames += int((~good).sum())
    if "count" in header:
        fits = header["count"][1] == layout.records
        tally.bad_frames += int((good & ~fits).sum())
        good &= fits
    if layout.records == 0 or not good.any():
        return
    columns: dict[str, Floats] = {}
    valid = np.repeat(good[:, None], layout.records, axis=1)
    for item, wire in header.values():
        if item.quantity != "none" or item.name == "seq":
            values = _scaled(wire, item, valid[:, :1], tally)
            values = values[:, None]
            columns[item.column] = (
                values if layout.records == 1 else np.repeat(values, layout.records, axis=1)
            )
            if item.invalid is not None:
                valid &= (wire != item.invalid)[:, None]
    for item, offset in layout.record:
        if item.quantity == "none" and item.name != "seq":
            continue
        wire = np.stack(
            [
                wire_numbers(payload, layout.record_start + k * layout.record_size + offset, item)
                for k in range(layout.records)
            ],
            axis=1,
        )
        columns[item.column] = _scaled(wire, item, valid, tally)
        if item.invalid is not None:
            valid &= wire != item.invalid
    if layout.record:
        shape = valid.shape
        columns[PLACE] = np.broadcast_to(np.arange(layout.records, dtype=float), shape)
        columns[COUNT] = np.full(shape, float(layout.records))
    keep = valid.ravel()
    message = frames if layout.records == 1 else np.repeat(frames, layout.records)
    if keep.all():
        tally.parts.append(({name: values.ravel() for name, values in columns.items()}, message))
    else:
        kept = {name: values.ravel()[keep] for name, values in columns.items()}
        tally.parts.append((kept, message[keep]))


def _scaled(wire: NDArray[np.number], item: FieldDescription, valid: Flags, tally: _Tally) -> Floats:
    """Values in SI or counts; counters stay as they are on the wire."""
    if item.name in ("seq", "device_time"):
        return wire.astype(np.float64)
    limits = item.saturation
    if limits is not None and wire.size and (wire.min() <= limits[0] or wire.max() >= limits[1]):
        ends = (wire <= limits[0]) | (wire >= limits[1])
        tally.saturated += int((ends & (valid if wire.ndim == 2 else valid[:, 0])).sum())
    values = wire.astype(np.float64)
    if item.zero:
        values -= item.zero
    values *= item.si_factor
    return values


def _joined(description: StreamDescription, pieces: Pieces, tally: _Tally) -> WireSamples:
    """Put the parts into the order of arrival."""
    names = dict.fromkeys(name for part, _ in tally.parts for name in part)
    frames = np.concatenate([part for _, part in tally.parts]) if tally.parts else np.zeros(0, dtype=np.int64)
    columns = {
        name: np.concatenate(
            [part[name] if name in part else np.full(rows.size, np.nan) for part, rows in tally.parts]
        )
        for name in names
    }
    if len(tally.parts) > 1 and np.any(np.diff(frames) < 0):
        order = np.argsort(frames, kind="stable")
        frames = frames[order]
        columns = {name: values[order] for name, values in columns.items()}
    per_count = count_on(columns, frames, description) if description.records else 1
    for name in description.measured:
        item = description.field(name)
        if item is not None:
            columns.setdefault(item.column, np.zeros(0))
    return WireSamples(
        columns,
        pieces.message[frames],
        tally.saturated,
        tally.bad_checksum,
        tally.bad_frames,
        tally.ignored_frames,
        tally.dropped_bytes,
        per_count,
    )
