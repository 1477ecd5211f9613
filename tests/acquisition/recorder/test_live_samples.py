"""Samples decoded piece by piece are those of all bytes at once."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import CertificateError, LiveSamples, decode, read_recording

RECORDING = Path(__file__).parents[3] / "recordings" / "lever-row-40kg.mcap"


def in_pieces(live, messages, rng):
    frames, place = [], 0
    while place < len(messages):
        size = int(rng.integers(1, 12))
        frames.append(live.push(messages[place : place + size]))
        place += size
    return pd.concat(frames, ignore_index=True)


@pytest.mark.parametrize("name", ["force", "inertial"])
def test_pieces_add_up_to_the_whole(name):
    recording = read_recording(RECORDING)
    # Cut anywhere: a read of a port ends in the middle of a frame.
    rng = np.random.default_rng(11)
    messages = []
    for host_ns, data in recording.messages(name).pairs()[:1200]:
        cut = int(rng.integers(0, len(data) + 1)) if data else 0
        messages += [(host_ns, part) for part in (data[:cut], data[cut:]) if part or not data]
    description = recording.description(name)
    pieces = in_pieces(LiveSamples(description, origin_ns=recording.origin_ns), messages, rng)
    whole = decode(messages, description, origin_ns=recording.origin_ns).frame
    values = [column for column in whole.columns if column not in ("host_s", "device_s", "seq")]
    assert len(pieces) == len(whole)
    assert np.array_equal(pieces[values], whole[values])
    assert np.array_equal(pieces["host_s"], whole["host_s"])
    since = whole["device_s"] - whole["device_s"].iloc[0]
    assert pieces["device_s"].to_numpy() == pytest.approx(since.to_numpy(), abs=1e-9)


def test_counts_need_a_certificate():
    recording = read_recording(RECORDING)
    plain = recording.description("force")
    fields = [
        item.model_copy(update={"unit": "counts"}) if item.name == "force" else item for item in plain.fields
    ]
    counts = plain.model_copy(update={"fields": tuple(fields)})
    with pytest.raises(CertificateError, match="no certificate"):
        LiveSamples(counts).push(recording.messages("force").pairs()[:50])


def test_a_recording_as_it_was_at_a_moment():
    whole = read_recording(RECORDING)
    cut = whole.until(whole.origin_ns + 10_000_000_000)
    assert cut.stream("force")["host_s"].max() <= 10.0 < whole.stream("force")["host_s"].max()
    assert cut.stream("force").equals(whole.stream("force").iloc[: len(cut.stream("force"))])
    assert [mark.kind for mark in cut.marks] == ["tare"]
