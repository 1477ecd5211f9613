"""What comes after designing a machine and drawing it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from feltload.app.next_steps.step import Given, NextStep


def _draw(given: Given, outcome: int) -> NextStep:
    return NextStep(("survey", given["machine"]), "once it is built: what to measure on it, and how well")


AFTER_DESIGNING: Final[Mapping[tuple[str, ...], Callable[[Given, int], NextStep]]] = {
    ("draw",): _draw,
}
"""Command -> what comes after it."""
