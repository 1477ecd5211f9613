"""Holes in the inertial stream: silences after which the gyroscope's integral no longer tells where the arm is.

A hole cuts the record into pieces. Nothing is interpolated across it; each piece finds its angle by gravity.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from feltload.core import Fact, Floats, Severity
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.noise.filters import GAP_PERIODS

#: A silence longer than this (or than a gap of a slow stream) is a hole; shorter ones the gyroscope bridges.
HOLE_S = 0.15
#: A piece shorter than this between two holes tells too little of itself to be placed.
SHORTEST_PIECE_S = 1.0
#: The turn over a hole is carried by the rates at its ends if they leave it no more uncertain than this.
CARRIED_U_RAD = 0.2
#: Left out of this part of the recording, a profile may lack what decides.
MUCH_LEFT_OUT = 0.15
#: Standard uncertainty of the turn over any longer hole: it ties nothing.
FREE_U_RAD = 100.0
#: An arm at rest on both sides of a silence may have been thrown from one end of its travel to the other in it.
BRISK_RAD_S2 = 6.0


def hole_s(rate_hz: float) -> float:
    """Shortest step between samples that is a hole, seconds."""
    return max(HOLE_S, GAP_PERIODS / rate_hz)


def pieces_between_holes(time_s: Floats, rate_hz: float) -> tuple[slice, ...]:
    """Samples between holes, in order, covering all of them."""
    edges = np.flatnonzero(np.diff(time_s) > hole_s(rate_hz)) + 1
    return tuple(slice(int(a), int(b)) for a, b in pairwise([0, *edges, len(time_s)]))


def turn_u_rad(length_s: float, rate_before: float, rate_after: float) -> float:
    """Standard uncertainty of the turn over a silence, from the rates on both sides (rad/s).

    What the rates leave open grows with the silence; from `CARRIED_U_RAD` on they are not asked at all. Rates that are
    alike, or zero, say nothing about a movement that began and ended in between: `a` one half of the silence and
    `-a` the other turns the arm by a T² / 4, counted as two standard uncertainties.
    """
    swing = max(abs(rate_after - rate_before), 0.5 * max(abs(rate_before), abs(rate_after)), 0.1)
    carried = max(swing * length_s / 3.0, BRISK_RAD_S2 * length_s**2 / 8.0)
    return carried if carried <= CARRIED_U_RAD else FREE_U_RAD


def left_out_facts(spans_s: Sequence[tuple[float, float]], recorded_s: float) -> list[Fact]:
    """Spans that have no place, each with the part of the whole recording that all of them are."""
    share = sum(stop_s - start_s for start_s, stop_s in spans_s) / max(recorded_s, 1e-9)
    severity = Severity.SERIOUS if share > MUCH_LEFT_OUT else Severity.CAUTION
    kind = HingeFact.LEFT_OUT_AFTER_HOLE
    return [Fact(kind, severity, span_s=span_s, figures={"share": share}) for span_s in spans_s]
