"""What a coach can change, each as a change of the same force-by-position line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.errors import CoachingError
from feltload.coaching.match.load_line import AddedForce, LoadLine
from feltload.coaching.match.match import Match
from feltload.coaching.match.matching import match_capacity
from feltload.signal import SMOOTH_PEAK_ACCELERATION

QUICKEST_S = 0.3
"""Time of a raising below which the load is thrown, not raised (common practice, no source)."""
SLOWEST_S = 60.0
"""Time of a raising beyond which it is a hold (common practice, no source)."""


class ChangeKind(StrEnum):
    """What is changed."""

    NOTHING = "nothing"
    PLATES = "plates"
    HIGHER_START = "higher-start"
    SHORTER_RANGE = "shorter-range"
    ADDED_FORCE = "added-force"


@dataclass(frozen=True)
class Change:
    """One change at the machine.

    Attributes
    ----------
    kind : ChangeKind
    line : LoadLine
        The machine with what is added; a start or a stop leaves it whole.
    load_kg : float
        Plates with the change.
    at_rad : float or None
        New start, or where each repetition is turned.
    name : str
        What is added (a band, a chain) by its own name.
    """

    kind: ChangeKind
    line: LoadLine
    load_kg: float
    at_rad: float | None = None
    name: str = ""

    @classmethod
    def plates(cls, line: LoadLine, load_kg: float) -> Change:
        """Other plates."""
        return cls(ChangeKind.PLATES, line, load_kg)

    @classmethod
    def higher_start(cls, line: LoadLine, load_kg: float, at_rad: float) -> Change:
        """A seat or stop that starts the movement at `at_rad`."""
        line.require_inside(at_rad, "a start")
        return cls(ChangeKind.HIGHER_START, line, load_kg, at_rad)

    @classmethod
    def shorter_range(cls, line: LoadLine, load_kg: float, at_rad: float) -> Change:
        """Each repetition turned at `at_rad`."""
        line.require_inside(at_rad, "a stop")
        return cls(ChangeKind.SHORTER_RANGE, line, load_kg, at_rad)

    @classmethod
    def added_force(cls, line: LoadLine, load_kg: float, added: AddedForce) -> Change:
        """A band or chain at the handle."""
        return cls(ChangeKind.ADDED_FORCE, line.with_forces([added]), load_kg, name=added.name)

    def match(self, capacity: CapacityCurve) -> Match:
        """What it asks of a person; see `match_capacity` for what it raises."""
        start = self.at_rad if self.kind == ChangeKind.HIGHER_START else None
        stop = self.at_rad if self.kind == ChangeKind.SHORTER_RANGE else None
        return match_capacity(self.line, capacity, self.load_kg, from_rad=start, to_rad=stop)


@dataclass(frozen=True)
class WhatIf:
    """One change and what becomes of the match."""

    change: Change
    match: Match


def compare_changes(
    line: LoadLine, capacity: CapacityCurve, load_kg: float, changes: Sequence[Change]
) -> tuple[WhatIf, ...]:
    """The match as it is, then with each change.

    Raises
    ------
    PainfulTravelError, OverlapError
        When a change has the client work where it hurts, or where too little is known; see `working_travel`.
    CoachingError
        When a load cannot be determined from what was measured.
    """
    unchanged = Change(ChangeKind.NOTHING, line, load_kg)
    return tuple(WhatIf(change, change.match(capacity)) for change in (unchanged, *changes))


def inertia_swing_n(line: LoadLine, load_kg: float, concentric_s: float) -> float:
    """Greatest force that inertia adds (and takes off) in a smooth repetition of this duration.

    Raises
    ------
    CoachingError
        For a duration in which nobody raises a load.
    """
    if not QUICKEST_S <= concentric_s <= SLOWEST_S:
        thrown = concentric_s < QUICKEST_S
        raise CoachingError(
            f"a load raised in {concentric_s:g} s is {'thrown' if thrown else 'held'}, not raised",
            where="tempo",
            remedy=f"give seconds between {QUICKEST_S:g} and {SLOWEST_S:g}",
        )
    travel = float(line.angle_rad[-1] - line.angle_rad[0])
    return float(line.inertia_at(load_kg).mean() * SMOOTH_PEAK_ACCELERATION * travel / concentric_s**2)
