"""Help and resistance by hand: the plan by position."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import CoachingError
from feltload.coaching.hands.delivered import Phase
from feltload.coaching.hands.hand import STEADY_HAND_N
from feltload.coaching.hands.hand_advice import HelpStretch, certain_help, in_hand_steps, stretches_of
from feltload.coaching.match.known import travel_of
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.pain.travel import WorkingTravel
from feltload.core import (
    BY_ANGLE,
    EXPANDED_COVERAGE_K,
    Curve,
    Floats,
    Picture,
    Shown,
    Summary,
    angle_text,
    mass_text,
    with_u95,
)

if TYPE_CHECKING:
    import pandas as pd

USUAL_TARGET = 0.7
"""Share of capacity that a plan aims at where nobody names one (our own choice; the coach decides)."""


@dataclass(frozen=True, repr=False)
class HelpPlan(Shown):
    """Newtons to give by hand at each position.

    Attributes
    ----------
    load_kg, target : float
        Plates, and the demand (fraction of capacity) the client shall feel.
    angle_rad, help_n, lowering_help_n : ndarray, shape (n,)
        Help while raising and while lowering, positive along the raising direction: it takes load off the client
        either way; negative: add resistance.
    u_n : ndarray, shape (n,)
        Standard uncertainty of both, from the static force and the capacity.
    travel : WorkingTravel
        Where the client works, outside every painful range.
    helps_only : bool
        Whether resistance that would make the demand even is left out.
    """

    load_kg: float
    target: float
    angle_rad: Floats
    help_n: Floats
    lowering_help_n: Floats
    u_n: Floats
    travel: WorkingTravel
    helps_only: bool = False

    @property
    def u95_n(self) -> Floats:
        """Expanded uncertainty of `help_n` (k = 2, about 95 %), shape (n,)."""
        return EXPANDED_COVERAGE_K * self.u_n

    def needed_n(self, phase: Phase) -> Floats:
        """Help in one phase as the figures have it, shape (n,)."""
        return self.help_n if phase == Phase.CONCENTRIC else self.lowering_help_n

    def hand_n(self, phase: Phase) -> Floats:
        """What the partner gives in one phase, in steps that a hand feels: only what the band leaves certain."""
        return in_hand_steps(certain_help(self.angle_rad, self.needed_n(phase), self.u95_n))

    def stretches(self, phase: Phase) -> tuple[HelpStretch, ...]:
        """What the partner does along the travel, from its lower end to its upper one."""
        return stretches_of(self.angle_rad, self.needed_n(phase), self.u95_n)

    def in_order(self, phase: Phase) -> tuple[HelpStretch, ...]:
        """The same in the order in which the arm passes it: lowering begins at the upper end."""
        upwards = self.stretches(phase)
        if phase == Phase.CONCENTRIC:
            return upwards
        return tuple(stretch.moved_back() for stretch in reversed(upwards))

    @property
    def beyond_a_hand(self) -> bool:
        """Whether it asks for more than a partner holds evenly: plates are then the better change."""
        return any(bool(np.abs(self.needed_n(phase)).max() > STEADY_HAND_N) for phase in Phase)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What comes before a plan is followed."""
        return (*self.travel.cautions, Caution.HELP_BY_HAND)

    def summary(self) -> Summary:
        """The greatest help in each phase."""
        along, rows = self.travel.along, []
        for name, help_n in (("raising", self.help_n), ("lowering", self.lowering_help_n)):
            k = int(np.argmax(help_n))
            angle = float(self.angle_rad[k])
            at = angle_text(angle) if along is None else along.said(angle)
            rows.append((name, with_u95(float(help_n[k]), float(self.u95_n[k]), "N"), at))
        title = f"Help by hand with {mass_text(self.load_kg)} for {100.0 * self.target:g} % of capacity"
        return Summary(title, ("phase", "greatest help (95 %)", "at"), tuple(rows))

    def picture(self) -> Picture:
        """Help while raising and while lowering with its band, painful ranges shaded."""
        curves = tuple(
            Curve.within(name, self.angle_rad, help_n, self.u95_n)
            for name, help_n in (("raising", self.help_n), ("lowering", self.lowering_help_n))
        )
        along = self.travel.along
        return Picture(
            self.summary().title,
            "help by hand, N",
            curves,
            (BY_ANGLE,) if along is None else along.scales(),
            line_name="needed",
            level=("no help", 0.0),
            spans=self.travel.avoided_rad,
        )

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg, help_n, lowering_help_n, u95_n``."""
        import pandas as pd

        return pd.DataFrame(
            {
                "angle_deg": np.rad2deg(self.angle_rad),
                "help_n": self.help_n,
                "lowering_help_n": self.lowering_help_n,
                "u95_n": self.u95_n,
            }
        )


def plan_help(
    line: LoadLine,
    capacity: CapacityCurve,
    load_kg: float,
    target: float | None = None,
    *,
    from_rad: float | None = None,
    to_rad: float | None = None,
) -> HelpPlan:
    """Plan help by hand so that the client works at a constant fraction of capacity.

    ``help = load - target * capacity`` at each position, with the load as it is felt raising slowly and lowering
    slowly. Capacity is that of holds or of raising in both: a person holds back more than that while lowering (common
    practice, no source), so that help while lowering is rather too much than too little.

    Parameters
    ----------
    target : float, optional
        Fraction of capacity. By default `USUAL_TARGET`, and never more than the load asks for at its hardest position:
        hands even a load out, they make none harder than it was chosen. Nor do they add anything for a client with a
        painful range, unless a target is named.
    from_rad, to_rad : float, optional
        A later start, or where each repetition is turned.

    Raises
    ------
    CoachingError
        For a target that is no fraction of capacity, or where none is named and the load asks for nothing.
    PainfulTravelError, OverlapError
        When too little travel is left or known; see `working_travel`.
    """
    if target is not None and not 0 < target <= 1:
        raise CoachingError(
            f"a target of {target:g} is not a fraction of capacity", remedy="give one such as 0.8"
        )
    travel = travel_of(line, capacity, from_rad=from_rad, to_rad=to_rad)
    angle = even_grid(*travel.work_rad)
    raising = np.interp(angle, line.angle_rad, line.raising_n(load_kg))
    lowering = np.interp(angle, line.angle_rad, line.lowering_n(load_kg))
    force, covariance = capacity.at(angle)
    helps_only = target is None and bool(capacity.painful_rad)
    if target is None:
        target = _usual_target(raising / force)
    u_load = np.interp(angle, line.angle_rad, line.u_n(load_kg))
    u = np.hypot(u_load, target * np.sqrt(np.clip(np.diag(covariance), 0, None)))
    least_n = 0.0 if helps_only else -np.inf
    help_n, lowering_help_n = (np.maximum(load - target * force, least_n) for load in (raising, lowering))
    return HelpPlan(load_kg, target, angle, help_n, lowering_help_n, u, travel, helps_only)


def _usual_target(demand: Floats) -> float:
    hardest = float(demand.max())
    if hardest <= 0.0:
        raise CoachingError(
            "the load asks for nothing of the person at any position: there is no help to plan",
            remedy="name a target, such as 0.7, if resistance by hand is wanted",
        )
    return min(USUAL_TARGET, hardest)
