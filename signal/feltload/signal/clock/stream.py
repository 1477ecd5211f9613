"""One timeline while it is being recorded: a sensor's clock against the arrivals so far; causal, in bounded memory.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Floats

WINDOW_S = 30.0
"""The quickest arrivals of this long fix the offset: clocks of 100 ppm part by 3 ms in it."""
LEAP_S = 1.0
"""Sensor's clock and arrivals parting by more than this: the clock began again."""


class ClockStream:
    """Streaming twin of `join_clock`: sample times from arrivals that are never early and often late.

    The offset is that of the quickest arrival of the last half minute, and of a sensor without a clock the samples of
    one push lie evenly between its arrival and the one before.
    """

    def __init__(self) -> None:
        self._quickest: deque[tuple[float, float]] = deque()
        self._last_s = -np.inf
        self._last_host_s: float | None = None

    def push(self, host_s: ArrayLike, device_s: ArrayLike) -> Floats:
        """Times of samples that follow those before, shape (n,).

        Parameters
        ----------
        host_s : array_like, shape (n,)
            Arrivals.
        device_s : array_like, shape (n,)
            The sensor's own clock, running on; NaN where it has none.

        Returns
        -------
        ndarray, shape (n,)
            On the host's timeline, never before those given out earlier.
        """
        host, device = np.asarray(host_s, float).ravel(), np.asarray(device_s, float).ravel()
        if not host.size:
            return host
        times = self._by_clock(host, device) if np.isfinite(device).all() else self._by_arrival(host)
        times = np.maximum.accumulate(np.concatenate([[self._last_s], times]))[1:]
        self._last_s, self._last_host_s = float(times[-1]), float(host[-1])
        return times

    def _by_clock(self, host: Floats, device: Floats) -> Floats:
        late = host - device
        quickest = float(np.min(late))
        if self._quickest and abs(quickest - self._offset_s) > LEAP_S:
            self._quickest.clear()
        while self._quickest and self._quickest[-1][1] >= quickest:
            self._quickest.pop()
        self._quickest.append((float(host[-1]), quickest))
        while host[-1] - self._quickest[0][0] > WINDOW_S:
            self._quickest.popleft()
        return np.asarray(device + self._offset_s)

    @property
    def _offset_s(self) -> float:
        return self._quickest[0][1]

    def _by_arrival(self, host: Floats) -> Floats:
        before = self._last_host_s
        if before is None or not host[-1] > before:
            return host
        return np.asarray(before + (host[-1] - before) * np.arange(1, host.size + 1) / host.size)
