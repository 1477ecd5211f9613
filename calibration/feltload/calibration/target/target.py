"""Targets: the force that is wanted by position, with a tolerance.

A target is in newtons, or relative: of the force at its first position ("falls 25(5) % from start to end"), or of a
scale that the machine may choose ("proportional to this strength"). The tolerance is the half-width of what is
allowed, in newtons or as a part of the scale; it is no uncertainty. Where there is one limit alone ("at most 400 N"),
what is wanted lies a little within it, and everything beyond that is allowed as well.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.core import Flags, Floats

ROOM: Final = 0.05
LEAST_ROOM_N: Final = 2.0
"""Behind a limit without another side: what is wanted lies this part of the limit within it, and at least so far."""


class TargetAxis(StrEnum):
    """What the positions of a target are."""

    TRAVEL = "travel"
    """Part of the travel, 0 to 1."""

    HANDLE = "handle"
    """Way of the handle from the start stop, m."""

    ANGLE = "angle"
    """The angle that is shown on this machine, rad."""


class TargetScale(StrEnum):
    """What the wanted values are parts of."""

    NEWTONS = "newtons"
    """Nothing: they are newtons."""

    FIRST = "first-position"
    """The force at the target's first position."""

    FREE = "free"
    """Any one force: only the shape is wanted."""


def within_limit(limit_n: Floats, *, upper: bool) -> tuple[Floats, Floats]:
    """What is wanted behind a limit that has no other side, and how far that is from it, each of the limit's shape."""
    room = np.maximum(ROOM * np.abs(limit_n), LEAST_ROOM_N)
    return (limit_n - room if upper else limit_n + room), room


def _everywhere() -> Flags:
    return np.ones(1, dtype=bool)


@dataclass(frozen=True)
class Target:
    """A wanted force by position.

    Attributes
    ----------
    text : str
        As it was written, or the name of its file.
    axis : TargetAxis
    at : ndarray, shape (k,)
        Positions, ascending.
    wanted : ndarray, shape (k,)
        Newtons, or parts of the scale.
    tolerance : ndarray, shape (k,)
        Half-width of what is allowed, in the same unit.
    scale : TargetScale
    between : bool
        Whether the straight line between the positions is wanted too, or the positions alone.
    load_kg : float, optional
        Load that it is for; None for every load.
    lower, upper : ndarray of bool, shape (k,) or (1,)
        Whether what is allowed has a lower and an upper limit there; both unless said.
    """

    text: str
    axis: TargetAxis
    at: Floats
    wanted: Floats
    tolerance: Floats
    scale: TargetScale
    between: bool = True
    load_kg: float | None = None
    lower: Flags = field(default_factory=_everywhere)
    upper: Flags = field(default_factory=_everywhere)

    def __post_init__(self) -> None:
        n = self.at.size
        if n == 0 or self.wanted.shape != (n,) or self.tolerance.shape != (n,):
            raise TargetError("its positions, forces and tolerances differ in number", where=self.text)
        every = np.concatenate([self.at, self.wanted, self.tolerance])
        if not np.all(np.isfinite(every)) or np.any(np.diff(self.at) <= 0.0):
            raise TargetError(
                "its positions do not rise, or a value in it is not finite",
                where=self.text,
                remedy="give each position once, ascending",
            )
        if np.any(self.tolerance <= 0.0):
            raise TargetError(
                "has no tolerance, so nothing could meet it",
                where=self.text,
                remedy='give one, such as "250 ± 20 N" or "25 ± 5 %"',
            )
        if not np.all(self.lower | self.upper):
            raise TargetError(
                "limits nothing at one of its positions", where=self.text, remedy="give one limit at least"
            )
        if self.scale is TargetScale.FREE and self.one_sided:
            raise TargetError(
                "is a shape, which needs both limits", where=self.text, remedy="give a tolerance, such as 5 %"
            )
        if self.scale is not TargetScale.NEWTONS and np.any(
            (self.wanted - self.tolerance <= 0.0) & self.lower
        ):
            raise TargetError(
                "its tolerance lets the force fall to zero",
                where=self.text,
                remedy="give a tolerance that is smaller than the force",
            )

    @property
    def one_sided(self) -> bool:
        """Whether it has one limit alone somewhere."""
        return not bool(np.all(self.lower & self.upper))

    @property
    def limits_alone(self) -> bool:
        """Whether it has one limit alone everywhere, such as "at most 400 N"."""
        return not bool(np.any(self.lower & self.upper))

    def position_text(self, value: float) -> str:
        """A position as a person writes it: "40 %", "31 cm", "20°"."""
        if self.axis is TargetAxis.TRAVEL:
            return f"{100.0 * value:.3g} %"
        return f"{100.0 * value:.3g} cm" if self.axis is TargetAxis.HANDLE else f"{np.degrees(value):.3g}°"
