"""A sensor unplugged and plugged in again: streams and whole recordings with holes cut into them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from mcap.reader import make_reader
from mcap.writer import Writer

Spans = Sequence[tuple[float, float]]

SHORTEST_S, LONGEST_S = 0.2, 8.0
"""Lengths of random holes, seconds."""


def random_holes(rng: np.random.Generator, start_s: float, stop_s: float) -> list[tuple[float, float]]:
    """One to three holes between two times, their lengths even on a logarithmic scale; they may overlap."""
    lengths = np.exp(rng.uniform(np.log(SHORTEST_S), np.log(LONGEST_S), rng.integers(1, 4)))
    starts = [float(rng.uniform(start_s, stop_s - length)) for length in lengths]
    return sorted((start, start + float(length)) for start, length in zip(starts, lengths, strict=True))


def without(stream: pd.DataFrame, holes: Spans) -> pd.DataFrame:
    """A stream without the samples that arrived in the holes (host seconds)."""
    host_s = stream["host_s"].to_numpy(float)
    lost = np.zeros(len(stream), dtype=bool)
    for start_s, stop_s in holes:
        lost |= (host_s >= start_s) & (host_s < stop_s)
    return stream[~lost].reset_index(drop=True)


def cut_recording(source: Path, target: Path, holes: Mapping[str, Spans]) -> None:
    """Copy a recording without the messages of some topics that arrived in the holes.

    Parameters
    ----------
    source, target : Path
    holes : mapping
        Topic -> spans in seconds since the first message.
    """
    with source.open("rb") as given, target.open("wb") as made:
        reader, writer = make_reader(given), Writer(made)
        header, summary = reader.get_header(), reader.get_summary()
        if summary is None or summary.statistics is None:
            raise ValueError(f"{source}: no summary")
        writer.start(profile=header.profile, library=header.library)
        for found in reader.iter_metadata():
            writer.add_metadata(found.name, found.metadata)
        for file in reader.iter_attachments():
            writer.add_attachment(file.create_time, file.log_time, file.name, file.media_type, file.data)
        numbers = {
            number: writer.register_channel(channel.topic, channel.message_encoding, 0)
            for number, channel in sorted(summary.channels.items())
        }
        begun_ns = summary.statistics.message_start_time
        for _, channel, message in reader.iter_messages(log_time_order=False):
            since_s = (message.log_time - begun_ns) * 1e-9
            if any(start_s <= since_s < stop_s for start_s, stop_s in holes.get(channel.topic, ())):
                continue
            writer.add_message(
                numbers[channel.id], message.log_time, message.data, message.publish_time, message.sequence
            )
        writer.finish()  # type: ignore[no-untyped-call]
