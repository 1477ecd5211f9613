"""From a curve of needed help to what a partner can do: the one conversion behind every plan that is shown."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from feltload.coaching.hands.hand import HAND_STEP_N, shortest_stretch_rad
from feltload.core import Floats

PEAKED = 1.15
"""A stretch whose greatest force exceeds this many times both ends' has its peak inside (our own convention)."""
STEADY_SHARE = 0.25
"""Ends that differ by less than this part of the greatest force count as alike (our own convention)."""


class HandAction(StrEnum):
    """What the partner does."""

    HELP = "help"
    RESIST = "resist"
    LEAVE = "leave"


class Course(StrEnum):
    """How the force goes along a stretch."""

    STEADY = "steady"
    BUILDING_UP = "building-up"
    EASING_OFF = "easing-off"
    PEAK_INSIDE = "peak-inside"


@dataclass(frozen=True)
class HelpStretch:
    """A stretch of the travel in which the partner does one thing.

    Attributes
    ----------
    from_rad, to_rad : float
        In the order of the movement.
    action : HandAction
    mean_n, peak_n, first_n, last_n : float
        Size of the hand's force along the handle's path, positive, in steps that a hand feels: mean, greatest, and at
        the two ends.
    peak_rad : float
    u95_n : float
        Greatest expanded uncertainty of the needed help over the stretch (k = 2).
    """

    from_rad: float
    to_rad: float
    action: HandAction
    mean_n: float
    peak_n: float
    first_n: float
    last_n: float
    peak_rad: float
    u95_n: float

    def moved_back(self) -> HelpStretch:
        """The same stretch as it is passed while lowering: from its upper end to its lower one."""
        return replace(
            self, from_rad=self.to_rad, to_rad=self.from_rad, first_n=self.last_n, last_n=self.first_n
        )

    @property
    def course(self) -> Course:
        """How the force goes from `from_rad` to `to_rad`."""
        if self.peak_n > PEAKED * max(self.first_n, self.last_n):
            return Course.PEAK_INSIDE
        if abs(self.last_n - self.first_n) < STEADY_SHARE * self.peak_n:
            return Course.STEADY
        return Course.BUILDING_UP if self.last_n > self.first_n else Course.EASING_OFF


def certain_help(angle_rad: Floats, help_n: Floats, u95_n: Floats) -> Floats:
    """The part of the needed help that its own band leaves certain, N, shape (n,).

    Nothing where the band holds zero; from there on twice what exceeds the band, until it is the needed help itself at
    twice the band. What is needed over less than 5° is left out, since nobody can follow it. So the advice never has a
    sign that the need may not have, is never more than the need, and changes from load to load no more than twice as
    fast as the need and its band: a partner is never told something else because a figure crossed a threshold.

    Parameters
    ----------
    angle_rad, help_n, u95_n : ndarray, shape (n,)
        Ascending, even angles; help needed there, of either sign; half-width of its 95 % band.
    """
    size = np.clip(2.0 * (np.abs(help_n) - u95_n), 0.0, np.abs(help_n))
    width = min(
        angle_rad.size, 1 + round(shortest_stretch_rad(angle_rad) / float(np.median(np.diff(angle_rad))))
    )
    help_side, resist_side = (
        _opened(np.where(sign * help_n > 0.0, size, 0.0), width) for sign in (1.0, -1.0)
    )
    return np.asarray(help_side - resist_side)


def _opened(force_n: Floats, width: int) -> Floats:
    """Greatest force that is reached throughout some `width` neighbouring angles around each (a grey opening).

    It cuts what is narrower off, never adds, and never changes more than `force_n` does.
    """
    least = sliding_window_view(force_n, width).min(axis=1)
    return np.asarray(sliding_window_view(np.pad(least, width - 1), width).max(axis=1))


def in_hand_steps(force_n: Floats) -> Floats:
    """Rounded to what a hand feels, N, halves towards zero: rounding takes force away and never makes a sign."""
    steps = np.ceil(np.abs(force_n) / HAND_STEP_N - 0.5)
    return np.asarray(np.where(steps > 0, np.sign(force_n) * steps * HAND_STEP_N, 0.0))


def stretches_of(angle_rad: Floats, help_n: Floats, u95_n: Floats) -> tuple[HelpStretch, ...]:
    """What the partner does along the travel, one thing after the other, hands off included."""
    hand_n = in_hand_steps(certain_help(angle_rad, help_n, u95_n))
    signs = np.sign(hand_n)
    edges = (np.flatnonzero(np.diff(signs)) + 1).tolist()
    if edges and edges[-1] == angle_rad.size - 1:
        # The last angle alone is no stretch: the one before it reaches there.
        edges.pop()
    actions = {1: HandAction.HELP, -1: HandAction.RESIST, 0: HandAction.LEAVE}
    stretches = []
    for first, stop in zip([0, *edges], [*edges, angle_rad.size], strict=True):
        size = np.abs(hand_n[first:stop])
        peak = int(np.argmax(size))
        stretches.append(
            HelpStretch(
                from_rad=float(angle_rad[first]),
                to_rad=float(angle_rad[min(stop, angle_rad.size - 1)]),
                action=actions[int(signs[first])],
                mean_n=float(in_hand_steps(size.mean(keepdims=True))[0]),
                peak_n=float(size[peak]),
                first_n=float(size[0]),
                last_n=float(size[-1]),
                peak_rad=float(angle_rad[first + peak]),
                u95_n=float(u95_n[first:stop].max()),
            )
        )
    return tuple(stretches)
