"""Sentences about what a proposed design runs into."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.app.text.common import Sentence
from feltload.app.text.numbers import degrees, load_text
from feltload.calibration import DesignFact
from feltload.core import Fact


def _near(what: str) -> Sentence:
    def said(fact: Fact) -> str:
        return (
            f"{what} within {fact.figure('apart_m') * 1e3:.0f} mm of the line between the two fixed pivots, "
            f"{degrees(fact.figure('angle_rad'))} from the start stop, which today's does not: see that nothing of the "
            "frame is there, or narrow the bounds"
        )

    return said


SENTENCES: Final[Mapping[str, Sentence]] = {
    DesignFact.HANDLE_NEAR_FRAME: _near("the proposed handle passes"),
    DesignFact.LOAD_NEAR_FRAME: _near("the middle of the plates passes"),
    DesignFact.RUNS_AWAY: lambda fact: (
        f"with {load_text(fact.figure('load_kg'))} the proposed machine does not hold the handle back from "
        f"{degrees(fact.figure('from_rad'))} to {degrees(fact.figure('to_rad'))} from the start stop, where today's "
        "does: it would move away by itself and can strike who holds it; ask for a force there as well"
    ),
    DesignFact.UNDER_FLOOR: lambda fact: (
        f"handle or plates would be {fact.figure('under_m') * 1e3:.0f} mm below the floor that the chain hangs to, "
        f"{degrees(fact.figure('angle_rad'))} from the start stop: this cannot be built so; narrow the bounds"
    ),
}
