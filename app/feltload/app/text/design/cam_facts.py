"""Sentences about a cam's outline."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.app.text.common import Sentence
from feltload.app.text.numbers import degrees
from feltload.calibration import CamFact
from feltload.core import Fact


def _mm(fact: Fact, name: str) -> str:
    return f"{fact.figure(name) * 1e3:.3g} mm"


def _at(fact: Fact) -> str:
    return f"{degrees(fact.figure('angle_rad'))} from the start stop"


def _hollow(fact: Fact) -> str:
    start, end = degrees(fact.figure("from_rad")), degrees(fact.figure("to_rad"))
    return (
        f"the cam is hollow where the cable leaves it from {start} to {end}: the cable bridges the hollow, so the "
        "force there is not the computed one; measure a surveyed cam again there, or ask a new one for a curve "
        "that falls away less steeply"
    )


def _sharp(fact: Fact) -> str:
    return (
        f"the cam bends the cable to a radius of {_mm(fact, 'radius_m')} ({_at(fact)}), and a cable of "
        f"{_mm(fact, 'diameter_m')} should be bent to {_mm(fact, 'least_m')} or more "
        f"({fact.figure('bend_ratio'):g} times its diameter across): it wears early; take a thinner or "
        "more flexible cable that its maker allows here, or a larger cam"
    )


SENTENCES: Final[Mapping[str, Sentence]] = {
    CamFact.HOLLOW: _hollow,
    CamFact.SHARP: _sharp,
    CamFact.BEND_UNCHECKED: lambda fact: (
        f"the cam bends the cable to a radius of {_mm(fact, 'radius_m')} ({_at(fact)}); whether the cable bears that "
        "was not checked, and the outline is the middle of the cable: give its diameter under [cable.leaving]"
    ),
    CamFact.FOULS: lambda fact: (
        f"{_at(fact)} the cable touches the cam a second time: lead it off in another direction, or make the travel or "
        "the change of the moment arm smaller"
    ),
    CamFact.PULLEY_NEAR: lambda fact: (
        f"{_at(fact)}, with a moment arm of {_mm(fact, 'arm_m')}, the guide pulley is in the way of the cam: set it "
        "farther away"
    ),
    CamFact.TURNS_OVER: lambda fact: (
        f"the cable lies on the cam through {degrees(fact.figure('turn_rad'))}: it would lie over itself, so this cam "
        "needs a groove that climbs sideways; the outline drawn is flat and cannot be cut from one plate"
    ),
    CamFact.UNWINDS: lambda fact: (
        f"{_at(fact)} the cable swings as fast as the cam turns, so no outline gives this curve: set the guide pulley "
        "farther away"
    ),
}
"""Kind -> what is said of it."""
