"""What can be put on a machine with the plates at hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError

PER_UNIT = 100
"""Plates are distinguished to a hundredth of the unit that they are marked in."""

MOST_UNITS = 3000.0
"""No machine is loaded with more, in kg or lb (common practice, no source)."""


@dataclass(frozen=True)
class Plates:
    """Sizes of plates at hand, of each as many as needed.

    Attributes
    ----------
    hundredths : tuple of int
        Sizes in hundredths of their unit.
    unit_kg : float
        The unit they are marked in.
    """

    hundredths: tuple[int, ...]
    unit_kg: float

    def __post_init__(self) -> None:
        if not self.hundredths or min(self.hundredths) <= 0:
            raise CoachingError("no plates are given", remedy='give their sizes, such as "2.5 5 10 kg"')

    def up_to(self, load_kg: float) -> float:
        """The greatest load that these plates make and that is not above `load_kg`; 0 where none is.

        Never the nearest: rounding a load up would ask more of a client than was computed.
        """
        # The slack lets a load that these plates make exactly be made.
        most = int(min(load_kg / self.unit_kg, MOST_UNITS) * PER_UNIT + 1e-6)
        if most <= 0:
            return 0.0
        made = np.zeros(most + 1, dtype=bool)
        made[0] = True
        for size in self.hundredths:
            rows = -(-made.size // size)
            table = np.zeros(rows * size, dtype=bool)
            table[: made.size] = made
            made = np.logical_or.accumulate(table.reshape(rows, size), axis=0).ravel()[: made.size]
        return float(np.flatnonzero(made)[-1]) / PER_UNIT * self.unit_kg
