"""What comes after designing a machine and drawing it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from feltload.app.next_steps.step import Given, NextStep


def _draw(given: Given, outcome: int) -> NextStep:
    return NextStep(("survey", given["machine"]), "once it is built: what to measure on it, and how well")


def _design(given: Given, outcome: int) -> NextStep:
    if given["out"] is None:
        return NextStep(
            ("survey", given["machine"]), "what each dimension does; --out DIR writes the proposal"
        )
    proposed = Path(given["out"]) / "machine.toml"
    return NextStep(("draw", proposed, "--out", Path(given["out"]) / "drawings"), "drawings for the shop")


AFTER_DESIGNING: Final[Mapping[tuple[str, ...], Callable[[Given, int], NextStep]]] = {
    ("design",): _design,
    ("draw",): _draw,
}
"""Command -> what comes after it."""
