"""Curves of a comparison as its figures and tables take them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Flags, Floats


@dataclass(frozen=True)
class ComparedCurve:
    """One result at one load: position, values and half-width of their 95 % band, each (n,)."""

    label: str
    x: Floats
    values: Floats
    u95: Floats


@dataclass(frozen=True)
class DifferenceCurve:
    """One result minus the first: position, difference and half-width of the whole curves' 95 % band, each (n,)."""

    label: str
    x: Floats
    values: Floats
    u95: Floats

    @property
    def established(self) -> Flags:
        """Where the band leaves out zero, (n,)."""
        return np.asarray(np.abs(self.values) > self.u95)
