"""Sensors whose host stalls: true times, counters as on the wire, arrivals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats, Indices


@dataclass(frozen=True)
class SentSamples:
    """Samples that came through.

    Attributes
    ----------
    true_s, arrival_s : ndarray, shape (n,)
        Times of sampling and of arrival.
    clock, number : ndarray, shape (n,)
        Ticks of the sensor's clock and numbers of the samples, neither wrapped.
    lost : int
        Samples between the first and the last that did not come through.
    stalls : int
        How often the host stalled.
    """

    true_s: Floats
    arrival_s: Floats
    clock: Floats
    number: Indices
    lost: int
    stalls: int


def send_over_stalls(
    seed: int,
    *,
    link: str = "usb",
    rate_hz: float = 250.0,
    duration_s: float = 25.0,
    tick_s: float = 1e-6,
    skew: float = 3e-5,
    buffer: int | None = None,
    dropped: float = 0.0,
    stall_s: tuple[float, float] = (0.3, 1.0),
    stalls: int = 5,
) -> SentSamples:
    """Samples of a sensor that keeps sending while its host stalls.

    Parameters
    ----------
    link : {"usb", "ble"}
        Polled every 8 ms; or a notification per connection interval of 37.5 ms, some of them late by up to 150 ms.
    buffer : int, optional
        Samples that are held back for a host that is busy; later ones are lost. All are held without it.
    dropped : float
        Share of samples lost anywhere.
    stalls : int
        How often the host may stall; those that would follow another at once are left out.
    """
    rng = np.random.default_rng(seed)
    count = int(duration_s * rate_hz)
    true_s = rng.uniform(0.0, 1.0 / rate_hz) + np.arange(count) / rate_hz + rng.normal(0.0, 3e-6, count)
    clock = np.floor((rng.uniform(1.0, 3600.0) + (1.0 + skew) * true_s) / tick_s)
    if link == "usb":
        ready = np.maximum.accumulate(true_s + 0.001 + rng.exponential(0.001, count))
        arrival = np.ceil(ready / 0.008) * 0.008
    else:
        arrival = np.ceil((true_s + 0.004) / 0.0375) * 0.0375
        each = np.unique(arrival, return_inverse=True)[1]
        late = rng.exponential(0.012, each.max() + 1)
        late += (rng.random(late.size) < 0.05) * rng.uniform(0.0, 0.15, late.size)
        arrival = np.maximum.accumulate(arrival + late[each])
    kept = rng.random(count) >= dropped
    stalled, until = 0, -np.inf
    for begins in np.sort(rng.uniform(2.0, duration_s - 3.0, stalls)):
        if begins < until + 1.5:
            continue
        stalled, until = stalled + 1, begins + rng.uniform(*stall_s)
        held = np.flatnonzero((arrival >= begins) & (arrival < until))
        arrival[held] = until
        if buffer is not None:
            kept[held[buffer:]] = False
    arrival = np.maximum.accumulate(arrival)
    first, last = np.flatnonzero(kept)[[0, -1]]
    lost = int(last - first + 1 - np.count_nonzero(kept))
    number = np.arange(count) + int(rng.integers(0, 1 << 20))
    return SentSamples(true_s[kept], arrival[kept], clock[kept], number[kept], lost, stalled)
