"""Where to hold, in which order and with which rests, to learn what a person can produce along the travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.capacity.from_holds import FEWEST_POSITIONS
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import CapacityError
from feltload.coaching.pain.marks import MARGIN, degree_of, inside_any

MOST_POSITIONS = 7
FEWEST_PROPOSED = 5
WIDEST_STEP_RAD = np.deg2rad(13.0)
"""Positions are proposed this close or closer, as far as seven of them allow: a curve between them is no guess."""
END_SHARE = 0.05
"""Part of the travel left at each end: on its stop the arm, not the person, takes the force."""
HOLD_S = 4.0
REST_S = 120.0
ROUNDS = 2
WARM_UP = (0.5, 0.7, 0.85)
"""Efforts before the first maximal hold, as felt; with `HOLD_S`, `REST_S` and `ROUNDS` common practice, no source."""


@dataclass(frozen=True)
class HoldPlan:
    """Positions of one round in the order in which to hold them.

    The second round goes through them backwards, so that growing tired does not look like a position.

    Attributes
    ----------
    angle_rad : tuple of float
        Lever angles, in order of holding.
    travel_rad : tuple of float
        Both ends of the measured travel.
    left_out_rad : tuple of float
        Positions marked painful, or too near to one, which are not asked for.
    rounds : int
    hold_s, rest_s : float
        Seconds of each hold, and of rest after it.
    """

    angle_rad: tuple[float, ...]
    travel_rad: tuple[float, float]
    left_out_rad: tuple[float, ...]
    rounds: int = ROUNDS
    hold_s: float = HOLD_S
    rest_s: float = REST_S

    @property
    def share(self) -> tuple[float, ...]:
        """The positions as parts of the measured travel, 0 at its start."""
        low, high = self.travel_rad
        return tuple((angle - low) / (high - low) for angle in self.angle_rad)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What comes before the first hold."""
        return Caution.MAXIMAL_EFFORT, Caution.PAIN_IN_A_HOLD

    @property
    def duration_s(self) -> float:
        """Time of all rounds, without the warm-up."""
        return self.rounds * len(self.angle_rad) * (self.hold_s + self.rest_s)


def plan_holds(
    low_rad: float,
    high_rad: float,
    *,
    count: int | None = None,
    painful: Sequence[tuple[float, float]] = (),
) -> HoldPlan:
    """Propose positions for maximal isometric holds over a machine's measured range.

    Parameters
    ----------
    low_rad, high_rad : float
        Ends of the travel.
    count : int, optional
        How many positions, 3 to 7; by default as many as keep them 13° apart, but 5 at least and 7 at most.
    painful : sequence of (low_rad, high_rad)
        Stretches marked painful, which are never asked for.

    Raises
    ------
    CapacityError
        For another count, or when fewer than three positions are left.
    """
    inner = (1.0 - 2.0 * END_SHARE) * (high_rad - low_rad)
    if count is None:
        count = int(np.clip(np.ceil(inner / WIDEST_STEP_RAD) + 1, FEWEST_PROPOSED, MOST_POSITIONS))
    if not FEWEST_POSITIONS <= count <= MOST_POSITIONS:
        raise CapacityError(
            f"{count} positions are too {'few for a curve' if count < FEWEST_POSITIONS else 'many for one day'}",
            remedy=f"choose {FEWEST_POSITIONS} to {MOST_POSITIONS}",
        )
    angles = low_rad + np.linspace(END_SHARE, 1.0 - END_SHARE, count) * (high_rad - low_rad)
    sore = inside_any(angles, painful, MARGIN * degree_of((low_rad, high_rad)))
    if np.count_nonzero(~sore) < FEWEST_POSITIONS:
        raise CapacityError(
            f"{np.count_nonzero(~sore)} of {count} positions are left beside those marked painful, too few for a curve",
            remedy="leave maximal holds out until a licensed clinician has seen to the pain",
        )
    order = _order_far_apart(angles[~sore])
    return HoldPlan(
        angle_rad=tuple(float(angle) for angle in angles[~sore][order]),
        travel_rad=(low_rad, high_rad),
        left_out_rad=tuple(float(angle) for angle in angles[sore]),
    )


def _order_far_apart(angle: np.ndarray) -> list[int]:
    """Both ends first, then always the position farthest from those held already; ties by the one held last."""
    order = [angle.size - 1, 0]
    while len(order) < angle.size:
        left = [i for i in range(angle.size) if i not in order]
        nearest = [min(round(abs(angle[i] - angle[j]), 9) for j in order) for i in left]
        from_last = [abs(angle[i] - angle[order[-1]]) for i in left]
        order.append(max(zip(nearest, from_last, left, strict=True))[2])
    return order
