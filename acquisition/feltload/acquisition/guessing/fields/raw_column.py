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
    counts : float array, shape (n,), optional
        Values as an unsigned number, where that is something else.
    """

    keys: Keys
    values: Floats
    wraps_at: int | None
    can_be_measured: bool
    whole: bool
    counts: Floats | None = None

    @property
    def constant(self) -> bool:
        """Every frame has the same value."""
        return bool(np.all(self.values == self.values[0]))

    @property
    def counter(self) -> Floats:
        """Values as those of a counter or a clock: without a sign."""
        return self.values if self.counts is None else self.counts

    def counter_keys(self) -> Keys:
        """Keys of the description of a counter or a clock."""
        type_ = self.keys.get("type")
        return self.keys if type_ is None else {**self.keys, "type": type_.replace("i", "u")}
