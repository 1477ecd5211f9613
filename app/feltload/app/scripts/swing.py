"""Rough swing of the moving part while recording, from gravity alone, to show what has been covered."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

AXES = ("accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2")
HARDLY_MOVED_DEG = 5.0
"""Less swing than this is no repetition of anything."""

Vector = tuple[float, float, float]


@dataclass
class Swing:
    """How far the part has turned from rest; good to a few degrees, for the display only.

    Attributes
    ----------
    now_deg, widest_deg : float
        Turn from the first reading, now and at most.
    turns : int
        Times it came back near the start after going well out: repetitions, roughly.
    """

    now_deg: float = 0.0
    widest_deg: float = 0.0
    turns: int = 0
    _rest: Vector | None = field(default=None, init=False, repr=False)
    _smooth: Vector | None = field(default=None, init=False, repr=False)
    _out: bool = field(default=False, init=False, repr=False)

    def feed(self, latest: Mapping[str, float]) -> None:
        """Take the last reading of an inertial stream; anything else is passed over."""
        if not all(axis in latest for axis in AXES):
            return
        reading = (latest[AXES[0]], latest[AXES[1]], latest[AXES[2]])
        if self._rest is None or self._smooth is None:
            self._rest = self._smooth = reading
            return
        # Half old, half new: at four readings a second this takes off vibration, not a repetition.
        x, y, z = (0.5 * (old + new) for old, new in zip(self._smooth, reading, strict=True))
        self._smooth = (x, y, z)
        self.now_deg = _angle_deg(self._rest, self._smooth)
        self.widest_deg = max(self.widest_deg, self.now_deg)
        if self.now_deg > 0.6 * self.widest_deg and self.widest_deg > HARDLY_MOVED_DEG:
            self._out = True
        elif self._out and self.now_deg < 0.3 * self.widest_deg:
            self._out = False
            self.turns += 1


def _angle_deg(a: Vector, b: Vector) -> float:
    dot = sum(x * y for x, y in zip(a, b, strict=True))
    size = math.hypot(*a) * math.hypot(*b)
    return math.degrees(math.acos(max(-1.0, min(1.0, dot / size)))) if size > 0.0 else 0.0
