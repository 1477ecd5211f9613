"""Positions along a measured travel: its share, the handle's way, and the angle where there is one."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Figure, Floats, Scale
from feltload.signal.movement.travel import AngleKind

Span = tuple[float, float]

INSIDE_SLACK = 0.002
"""A part of the travel this little outside it is its end."""
LINE_SLACK_RAD = float(np.radians(1.0))
"""An angle of a handle's line this far from those that it passes is still the nearest of them."""

ANGLE_NAMES = {
    AngleKind.LEVER: "angle",
    AngleKind.HANDLE_LINE: "handle_line",
    AngleKind.ROTATION: "rotation",
}
"""How figures and columns call the angle of a position, before their unit."""

ANGLES_DRAWN = {
    AngleKind.LEVER: "angle of the lever",
    AngleKind.HANDLE_LINE: "angle of the handle's line",
    AngleKind.ROTATION: "rotation of the {part}",
}
"""How the axis of a figure calls it."""


@dataclass(frozen=True)
class PositionScale:
    """What positions are on a machine, beside start angle plus rotation.

    Attributes
    ----------
    angle : AngleKind
        What start angle plus rotation is.
    part : str
        What the sensor turns with, such as "arm", "drum" or "crank"; empty when nobody said.
    u_path_m : ndarray, shape (n,), optional
        Standard uncertainty of the handle's way.
    line_rad : ndarray, shape (n,), optional
        Elevation of the handle's own line, of `AngleKind.HANDLE_LINE`.
    """

    angle: AngleKind = AngleKind.LEVER
    part: str = "arm"
    u_path_m: Floats | None = None
    line_rad: Floats | None = None


@dataclass(frozen=True)
class Travel:
    """A travel along which positions are given. Every curve is a function of `angle_rad`; people are told the rest.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
        Start angle plus rotation over the whole travel, ascending.
    path_m : ndarray, shape (n,), optional
        Way of the handle from the start stop, where the machine file gives it.
    scale : PositionScale
        What an angle is on this machine.
    start_angle_rad : float
        Where rotation begins.
    """

    angle_rad: Floats
    path_m: Floats | None = None
    scale: PositionScale = field(default_factory=PositionScale)
    start_angle_rad: float = 0.0

    @property
    def ends_rad(self) -> Span:
        """Both ends."""
        return float(self.angle_rad[0]), float(self.angle_rad[-1])

    @property
    def length_m(self) -> float | None:
        """Way of the handle from end to end; None where it is not known."""
        return None if self.path_m is None else float(self.path_m[-1] - self.path_m[0])

    def shares(self, angle_rad: ArrayLike) -> Floats:
        """Parts of the travel from its start, by the handle's way where it is known; below 0 or above 1 outside."""
        if self.path_m is None:
            low, high = self.ends_rad
            return np.asarray((np.asarray(angle_rad, float) - low) / (high - low))
        return np.asarray(
            (_beyond(angle_rad, self.angle_rad, self.path_m) - self.path_m[0]) / np.ptp(self.path_m)
        )

    def share(self, angle_rad: float) -> float:
        """Part of the travel from its start; below 0 or above 1 outside."""
        return float(self.shares(angle_rad))

    def ways_m(self, angle_rad: ArrayLike) -> Floats | None:
        """Ways of the handle from the start stop; None where they are not known."""
        return None if self.path_m is None else _beyond(angle_rad, self.angle_rad, self.path_m)

    def way_m(self, angle_rad: float) -> float | None:
        """Way of the handle from the start stop; None where it is not known."""
        way = self.ways_m(angle_rad)
        return None if way is None else float(way)

    def at_share(self, share: float) -> float:
        """Start angle plus rotation at a part of the travel; outside it the travel goes on as it ends."""
        low, high = self.ends_rad
        if self.path_m is None:
            return low + share * (high - low)
        return self.at_way(float(self.path_m[0] + share * np.ptp(self.path_m)))

    def at_way(self, way_m: float) -> float:
        """Start angle plus rotation at a way of the handle from the start stop, which must be known."""
        if self.path_m is None:
            raise ValueError("the handle's way is not known")
        return float(_beyond(way_m, self.path_m, self.angle_rad))

    def shown_rad(self, angle_rad: ArrayLike) -> Floats:
        """The angle that is shown: lever angle, elevation of the handle's own line, or rotation from the start stop."""
        angle = np.asarray(angle_rad, float)
        if self.scale.line_rad is not None:
            return _beyond(angle, self.angle_rad, self.scale.line_rad)
        return angle - self.start_angle_rad if self.scale.angle is AngleKind.ROTATION else angle

    def at_shown(self, shown_rad: float) -> float | None:
        """Start angle plus rotation at an angle that is shown; None where the handle's line has it twice or never."""
        line = self.scale.line_rad
        if line is None:
            return shown_rad + self.start_angle_rad * (self.scale.angle is AngleKind.ROTATION)
        turning = np.diff(line)
        if not (np.all(turning > 0.0) or np.all(turning < 0.0)):
            return None
        if not np.min(line) - LINE_SLACK_RAD <= shown_rad <= np.max(line) + LINE_SLACK_RAD:
            return None
        order = slice(None) if turning[0] > 0.0 else slice(None, None, -1)
        return float(_beyond(shown_rad, line[order], self.angle_rad[order]))

    @property
    def shows_angle(self) -> bool:
        """Whether positions have an angle of the handle's, or nothing better than the sensor's rotation."""
        return self.scale.angle is not AngleKind.ROTATION or self.path_m is None

    def said(self, angle_rad: float) -> str:
        """``62 % of the travel (12°)`` on a lever, ``62 % of the travel (31 cm)`` elsewhere, as messages name it."""
        beside = self.said_beside(angle_rad)
        inside = -INSIDE_SLACK <= self.share(angle_rad) <= 1.0 + INSIDE_SLACK
        return f"{100.0 * self.share(angle_rad):z.0f} % of the travel ({beside})" if inside else beside

    def said_span(self, low_rad: float, high_rad: float) -> str:
        """``30 to 62 % of the travel (−5° to 12°)``, as messages name a range."""
        shares = [self.share(angle) for angle in (low_rad, high_rad)]
        beside = f"{self.said_beside(low_rad)} to {self.said_beside(high_rad)}"
        if min(shares) < -INSIDE_SLACK or max(shares) > 1.0 + INSIDE_SLACK:
            return beside
        return f"{100.0 * shares[0]:z.0f} to {100.0 * shares[1]:z.0f} % of the travel ({beside})"

    def said_beside(self, angle_rad: float) -> str:
        """``12°`` on a lever, elsewhere ``31 cm``: the one figure that stands beside a share."""
        way_m = self.way_m(angle_rad)
        shown = f"{np.degrees(self.shown_rad(angle_rad)):z.0f}°"
        if self.scale.angle is AngleKind.LEVER or way_m is None:
            turned = f"rotation of the {self.scale.part or 'sensor'} {shown}"
            return (turned if self.scale.angle is AngleKind.ROTATION else shown).replace("-", "−")
        return f"{100.0 * way_m:z.0f} cm".replace("-", "−")

    def figures(self, angle_rad: float) -> dict[str, Figure]:
        """A position as figures of a fact: `travel_share`, `handle_path_m` where known, and the angle by its name."""
        found: dict[str, Figure] = {"travel_share": self.share(angle_rad)}
        way = self.way_m(angle_rad)
        if way is not None:
            found["handle_path_m"] = way
        found[f"{ANGLE_NAMES[self.scale.angle]}_rad"] = float(self.shown_rad(angle_rad))
        if self.scale.angle is AngleKind.ROTATION:
            found["turning_part"] = self.scale.part
        return found

    def columns(self, angle_rad: Floats) -> dict[str, Floats]:
        """Columns of a table or a list in JSON: the angle by its name, share and way of the handle."""
        found = {f"{ANGLE_NAMES[self.scale.angle]}_deg": np.degrees(self.shown_rad(angle_rad))}
        if self.scale.angle is AngleKind.HANDLE_LINE:
            found = {"rotation_deg": np.degrees(angle_rad - self.start_angle_rad), **found}
        found["travel_percent"] = 100.0 * self.shares(angle_rad)
        ways = self.ways_m(angle_rad)
        if ways is not None:
            found["handle_travel_mm"] = 1e3 * ways
        return found

    def scales(self) -> tuple[Scale, ...]:
        """What positions (start angle plus rotation) are drawn as in a figure: those that are known here."""
        found = [Scale("travel", "part of the travel, %", lambda angle: 100.0 * self.shares(angle))]
        if self.path_m is not None:
            label = "way of the handle from the start stop, mm"
            found.append(Scale("handle", label, self._way_mm))
        label = f"{ANGLES_DRAWN[self.scale.angle].format(part=self.scale.part or 'sensor')}, °"
        found.append(Scale("angle", label, lambda angle: np.degrees(self.shown_rad(angle))))
        return tuple(found)

    def _way_mm(self, angle_rad: Floats) -> Floats:
        way = self.ways_m(angle_rad)
        return np.full(np.shape(angle_rad), np.nan) if way is None else 1e3 * way

    def record(self, angle_rad: float) -> dict[str, float]:
        """A position in JSON: the columns' names, one value each."""
        return {
            name: round(float(values[0]), 6) for name, values in self.columns(np.array([angle_rad])).items()
        }


def _beyond(x: ArrayLike, at: Floats, values: Floats) -> Floats:
    """Linear between ascending `at`, and on along the last steps beyond them."""
    x = np.asarray(x, float)
    first, last = ((values[k + 1] - values[k]) / (at[k + 1] - at[k]) for k in (0, -2 + at.size))
    inside = np.interp(x, at, values)
    return np.asarray(inside + first * np.minimum(x - at[0], 0.0) + last * np.maximum(x - at[-1], 0.0))
