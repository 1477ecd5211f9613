"""Positions as the messages about a client's travel name them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.pain.marks import Span, degrees_said, said
from feltload.signal import AngleKind, Travel


@dataclass(frozen=True)
class Words:
    """How positions are named: along the machine's travel, or as angles where none is given."""

    along: Travel | None

    def at(self, angle_rad: float) -> str:
        """``62 % of the travel (12°)``; ``12°`` without a travel."""
        return degrees_said(angle_rad) if self.along is None else self.along.said(angle_rad)

    def span(self, low_rad: float, high_rad: float) -> str:
        """The same for a range."""
        return said(low_rad, high_rad) if self.along is None else self.along.said_span(low_rad, high_rad)

    def listed(self, spans_rad: Sequence[Span]) -> str:
        """Ranges, one after the other."""
        return ", ".join(self.span(*span) for span in spans_rad)

    def length(self, size_rad: float) -> str:
        """``10°`` on a lever, elsewhere ``10 %`` of the measured travel."""
        if self.along is None or self.along.scale.angle is AngleKind.LEVER:
            return degrees_said(size_rad)
        return f"{100.0 * size_rad / float(np.ptp(self.along.angle_rad)):.0f} %"
