"""Virtual work: one energy model for every mechanism.

A mechanism says only where its moving links are at a rotation q from the start stop and how the handle
travels. From that, masses and add-ons give the potential energy U(q), the inertia I(q) about q and their exact
derivatives, and the static handle force is F_s = (dU/dq) / R with R = ds/dq the handle's travel per radian.
Moving, F·R = dU/dq + I·q̈ + ½·I'·q̇² (Lagrange's equation with one degree of freedom).

Plane of motion: x to the right, y up, seen from the side on which the concentric rotation is counter-clockwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol

import numpy as np

from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.core import Floats

Values = Mapping[ParameterKey, float]
"""Dimensions in SI. For many machines at once each may be a column (m, 1): arrays along q become (m, n)."""


@dataclass(frozen=True)
class Path:
    """A point's way through the plane, with its derivatives by q; each (..., n, 2), metres."""

    position: Floats
    first: Floats
    second: Floats


@dataclass(frozen=True)
class Frame:
    """A moving link: its own origin and how far it has turned since the start stop.

    Attributes
    ----------
    origin : Path
        Where the link's reference point is.
    turn, turn_1, turn_2 : ndarray, shape (n,)
        Rotation since the start stop (rad) and its derivatives by q.
    """

    origin: Path
    turn: Floats
    turn_1: Floats
    turn_2: Floats

    def point(self, radius: float, elevation: float) -> Path:
        """Way of a point at `radius` (m) and `elevation` (rad, on the start stop) from the link's origin."""
        angle = elevation + self.turn
        right, up = radius * np.cos(angle), radius * np.sin(angle)
        along, across = plane(right, up), plane(-up, right)
        rate, bend = self.turn_1[..., None], self.turn_2[..., None]
        return Path(
            self.origin.position + along,
            self.origin.first + across * rate,
            self.origin.second + across * bend - along * rate**2,
        )


@dataclass(frozen=True)
class Handle:
    """How the hand moves.

    Attributes
    ----------
    travel : ndarray, shape (n,)
        R = ds/dq, travel along the line of pull per radian (m/rad).
    path : Path or None
        Way of the hand in the plane, where the mechanism knows it.
    line_rad : ndarray, shape (n,), optional
        Elevation of the line to the handle on the link that carries it; None where the hand holds no such link.
    """

    travel: Floats
    path: Path | None
    line_rad: Floats | None = None


@dataclass(frozen=True)
class Stroke:
    """A line or circle to draw, metres. Two points or more make a line, one point and a radius a circle."""

    points: Floats
    radius: float | None = None
    moving: bool = True


@dataclass(frozen=True)
class Share:
    """What one mass or add-on adds; each array (n,).

    Attributes
    ----------
    energy, gradient : ndarray
        Potential energy U (J) and dU/dq (N·m).
    inertia, inertia_1 : ndarray
        Inertia about q (kg·m²) and its derivative by q.
    mass_kg : float
        Mass that rides on the link.
    """

    energy: Floats
    gradient: Floats
    inertia: Floats
    inertia_1: Floats
    mass_kg: float = 0.0

    def __add__(self, other: Share) -> Share:
        return Share(
            self.energy + other.energy,
            self.gradient + other.gradient,
            self.inertia + other.inertia,
            self.inertia_1 + other.inertia_1,
            self.mass_kg + other.mass_kg,
        )


class Rider(Protocol):
    """A mass or an add-on riding on one link."""

    @property
    def name(self) -> str:
        """Its name in the machine file; owner of its parameters."""
        ...

    @property
    def on(self) -> str | None:
        """Link it rides on; None for the mechanism's first."""
        ...

    def parameters(self) -> Sequence[Parameter]:
        """Its surveyed dimensions."""
        ...

    def anchor(self, values: Values) -> tuple[float, float]:
        """Radius (m) and elevation on the start stop (rad) of the point where it holds the link."""
        ...

    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        """What it adds, with `gravity` (m/s²) acting in the plane of motion."""
        ...


class Mechanism(Protocol):
    """A kind of mechanism: where its links are, and how the handle moves.

    Attributes
    ----------
    kind : str
        Its name in a machine file.
    links : tuple of str
        Links that masses and add-ons can ride on; the first is the default.
    sliding : tuple of str
        Those of them that do not turn, so that a mass on them needs no radius and angle.
    turning : str
        What the sensor turns with: a rotation that is no angle of the handle's is called after it.
    at_once : bool
        Whether its dimensions may be columns, for many machines at once.
    """

    kind: ClassVar[str]
    links: ClassVar[tuple[str, ...]]
    sliding: ClassVar[tuple[str, ...]]
    turning: ClassVar[str]
    at_once: ClassVar[bool]

    def extra_parameters(self) -> Sequence[Parameter]:
        """Parameters that are not plain keys of the section (tables, parts)."""
        ...

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        """Every link at rotations q (n,)."""
        ...

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        """The hand's travel."""
        ...

    def rolling_m(self, values: Values) -> float:
        """Radius of what the sensor turns with where it may roll along, so that its axle travels; 0 otherwise."""
        ...

    def tilt(self, values: Values) -> float:
        """Share of gravity that acts in the plane of motion."""
        ...

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        """Generalised force (N·m) for slow raising (+1) or lowering (-1), the mechanism's losses included.

        `shares` holds what rides on each link, by link.
        """
        ...

    def outline(self, q: float, values: Values) -> list[Stroke]:
        """Links, drums and rails to draw at one position."""
        ...


def plane(x: Floats | float, y: Floats | float) -> Floats:
    """Points or ways in the plane, (..., 2)."""
    both = np.empty((*np.broadcast(x, y).shape, 2))
    both[..., 0] = x
    both[..., 1] = y
    return both


def fixed_path(q: Floats, x: Floats | float = 0.0, y: Floats | float = 0.0) -> Path:
    """A point that does not move."""
    still = np.zeros((q.size, 2))
    return Path(still + plane(x, y), still, still)


def turning_frame(q: Floats, x: Floats | float = 0.0, y: Floats | float = 0.0) -> Frame:
    """A link that turns with q about a fixed pivot."""
    return Frame(fixed_path(q, x, y), q, np.ones_like(q), np.zeros_like(q))


def sliding_frame(origin: Path) -> Frame:
    """A link that moves without turning."""
    still = np.zeros(origin.position.shape[-2])
    return Frame(origin, still, still, still)


def travel_across(path: Path) -> Floats:
    """Travel of a hand that always pulls along its own way (tangential pull)."""
    return np.hypot(path.first[..., 0], path.first[..., 1])


def travel_along(path: Path, direction_rad: Floats | float) -> Floats:
    """Travel of a hand along a line of pull of the given elevation (rad)."""
    return np.asarray(path.first[..., 0] * np.cos(direction_rad) + path.first[..., 1] * np.sin(direction_rad))
