"""What an emulated person can hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats


@dataclass(frozen=True)
class Capacity:
    """What an emulated person can hold, as a force at the handle along the travel."""

    peak_n: float = 420.0
    peak_share: float = 0.15
    width_share: float = 0.6
    floor: float = 0.35

    def force_n(self, share: Floats) -> Floats:
        """Greatest isometric force at positions given as shares of the travel, (n,) N."""
        bell = np.exp(-(((np.asarray(share, dtype=float) - self.peak_share) / self.width_share) ** 2))
        return self.peak_n * (self.floor + (1.0 - self.floor) * bell)
