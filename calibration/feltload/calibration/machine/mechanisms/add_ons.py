"""Springs, elastic bands and hanging chains added to any mechanism."""

from __future__ import annotations

import itertools
from abc import abstractmethod
from collections.abc import Mapping, Sequence
from typing import Final, Self

import numpy as np
from pydantic import model_validator

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.mechanism import Frame, Share, Values, plane
from feltload.calibration.machine.mechanisms.part import Part
from feltload.calibration.machine.parameters import (
    FORCE_SCALE,
    Length,
    LinearDensity,
    MaybeAngle,
    MaybeLength,
    Parameter,
    Size,
    Stiffness,
    TableForce,
    TableLength,
    make_parameter,
)
from feltload.core import Floats, Quantity

# A band may be stretched this much past its table before its force counts as unknown.
_PAST_TABLE: Final = 0.02


class AddOn(Part):
    """What every add-on has: the point of a link that it holds, and what it adds there."""

    radius: MaybeLength = None
    angle: MaybeAngle = None

    @abstractmethod
    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        """What it adds, with `gravity` (m/s²) acting in the plane of motion."""


class _Tether(AddOn):
    """Anything stretched between a point of a link and a fixed point (x right, y up from the main pivot)."""

    anchor_x: Length
    anchor_y: Length

    def _stretch(self, frame: Frame, values: Values) -> tuple[Floats, Floats]:
        """Length (m) and its derivative by q, each (n,)."""
        path = frame.point(*self.anchor(values))
        fixed = plane(values[self.key("anchor_x")], values[self.key("anchor_y")])
        span = path.position - fixed
        length = np.hypot(span[..., 0], span[..., 1])
        if (length < 1e-6).any():
            raise GeometryError(
                f'"{self.name}" is shortened to nothing',
                remedy="its two ends meet: check radius, angle and anchor",
            )
        return length, np.sum(span * path.first, axis=-1) / length


class Spring(_Tether):
    """``[[spring]]``: linear, pulls when longer and pushes when shorter than its free length."""

    stiffness: Stiffness
    free_length: Size

    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        length, slope = self._stretch(frame, values)
        stiffness = values[self.key("stiffness")]
        stretch = length - values[self.key("free_length")]
        nothing = np.zeros_like(length)
        return Share(0.5 * stiffness * stretch**2, stiffness * stretch * slope, nothing, nothing)


class Band(_Tether):
    """``[[band]]``: a table of (length, force), slack below its first length.

    Between rows the force follows a monotone cubic (Fritsch & Carlson 1980). The uncertainty of the forces is one
    common scale.
    """

    table: list[tuple[TableLength, TableForce]]

    @model_validator(mode="after")
    def _ascending(self) -> Self:
        lengths = [row[0].value for row in self.table]
        if len(lengths) < 2 or any(b <= a for a, b in itertools.pairwise(lengths)):
            raise ValueError("a band's table needs two or more rows with growing lengths")
        return self

    def parameters(self) -> Sequence[Parameter]:
        known = [f.u / abs(f.value) for _, f in self.table if f.u is not None and f.value]
        u = float(np.sqrt(np.mean(np.square(known)))) if known else None
        scale = Quantity(1.0, u, "1", "")
        return (*super().parameters(), make_parameter(self.key("force_scale"), scale, FORCE_SCALE))

    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        # Slow to import, and only a band needs it.
        from scipy.interpolate import PchipInterpolator

        length, slope = self._stretch(frame, values)
        lengths = np.array([row[0].value for row in self.table])
        forces = np.array([row[1].value for row in self.table])
        longest = float(length.max())
        if longest > lengths[-1] * (1.0 + _PAST_TABLE):
            raise GeometryError(
                f'"{self.name}" is stretched to {longest * 1e3:.0f} mm, its table ends at {lengths[-1] * 1e3:.0f} mm',
                remedy="measure the band further, or check its anchor",
            )
        curve = PchipInterpolator(lengths, forces)
        tight = np.clip(length, lengths[0], None)
        force = np.where(length < lengths[0], 0.0, curve(tight))
        scale = values[self.key("force_scale")]
        nothing = np.zeros_like(length)
        return Share(scale * curve.antiderivative()(tight), scale * force * slope, nothing, nothing)


class Chain(AddOn):
    """``[[chain]]``: hangs from a link down to the floor and is picked up link by link.

    ``floor`` is the height of the floor above the main pivot (negative when the floor is below). What hangs moves
    with the point it hangs from.
    """

    density: LinearDensity
    length: Size
    floor: Length

    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        path = frame.point(*self.anchor(values))
        density, longest = values[self.key("density")], values[self.key("length")]
        height = path.position[..., 1] - values[self.key("floor")]
        hanging = np.clip(height, 0.0, longest)
        lifted = 0.5 * hanging**2 + longest * np.clip(height - longest, 0.0, None)
        growing = ((height > 0.0) & (height < longest)) * path.first[..., 1]
        speed = np.sum(path.first**2, axis=-1)
        bend = 2.0 * np.sum(path.first * path.second, axis=-1)
        return Share(
            density * gravity * lifted,
            density * gravity * hanging * path.first[..., 1],
            density * hanging * speed,
            density * (growing * speed + hanging * bend),
        )


ADD_ONS: Final[Mapping[str, type[AddOn]]] = {"spring": Spring, "band": Band, "chain": Chain}
