"""The filter in front of a device's converter."""

from __future__ import annotations

import numpy as np
from scipy import signal as dsp

from feltload.core import Floats


class CausalLowPass:
    """Second-order Butterworth low-pass as a device has it: it only knows the past.

    `delay_s` is its exact group delay at zero frequency.
    """

    def __init__(self, corner_hz: float, grid_hz: float) -> None:
        self._b, self._a = dsp.butter(2, corner_hz, fs=grid_hz)
        taps = np.arange(3)
        samples = self._b @ taps / self._b.sum() - self._a @ taps / self._a.sum()
        self.delay_s = float(samples / grid_hz)

    def __call__(self, values: Floats) -> Floats:
        """Filter along the first axis, settled on the first value."""
        state = dsp.lfilter_zi(self._b, self._a)
        start = state.reshape((-1,) + (1,) * (values.ndim - 1)) * values[:1]
        filtered, _ = dsp.lfilter(self._b, self._a, values, axis=0, zi=start)
        return np.asarray(filtered, dtype=float)
