"""A column on the wire before anyone knows what it means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from feltload.core import Floats

__all__ = ["Keys", "RawColumn"]

Keys = dict[str, Any]
"""Keys of a field's description."""


@dataclass(frozen=True, eq=False)
class RawColumn:
    """A column on the wire.

    Parameters
    ----------
    keys : dict
        Of its description: type, byte order.
    values : float array, shape (n,)
    wraps_at : int or None
        Where its type starts again.
    can_be_measured : bool
        Wide enough for a reading.
    whole : bool
        Its values are whole numbers.
    """

    keys: Keys
    values: Floats
    wraps_at: int | None
    can_be_measured: bool
    whole: bool

    @property
    def constant(self) -> bool:
        """Every frame has the same value."""
        return bool(np.all(self.values == self.values[0]))
