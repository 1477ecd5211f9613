"""Which stream a sensor is, by what it sends and not by the port it is plugged into."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription

SURE_SAMPLES = 3
"""Samples that decode before a sensor counts as recognised: one may be chance, or a cut frame."""


def identify_stream(
    messages: Iterable[tuple[int, bytes]], candidates: Sequence[StreamDescription]
) -> StreamDescription | None:
    """Find which of several descriptions fits what arrived.

    Parameters
    ----------
    messages : (host_ns, bytes) pairs
        What arrived on one link.
    candidates : sequence of StreamDescription
        The streams it may be; on a tie the earlier one wins, so put the expected one first.

    Returns
    -------
    StreamDescription or None
        None when fewer than `SURE_SAMPLES` samples decode by any of them.
    """
    pairs = list(messages)
    best: StreamDescription | None = None
    most = SURE_SAMPLES - 1
    for candidate in candidates:
        samples = decode(pairs, candidate).health.samples
        if samples > most:
            best, most = candidate, samples
    return best
