"""The left arm of a machine compared with its right arm, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from feltload.app.text.machine.comparison import describe_difference
from feltload.app.text.numbers import figure, load_text, number, short_force

if TYPE_CHECKING:
    from feltload.coaching import ProfileDifference
    from feltload.signal import SideDifference, Travel

WORTH_STATING_PERCENT = 3.0
"""What is smaller gets no sentence, whatever its statistics."""

NEWTONS = " N"

QUANTITIES = {
    "range_rad": ("range", math.degrees(1.0), "°"),
    "peak_n": ("peak force", 1.0, NEWTONS),
    "mean_n": ("mean force raising", 1.0, NEWTONS),
    "concentric_s": ("time raising", 1.0, " s"),
    "impulse_n_s": ("impulse", 1.0, " N·s"),
    "work_j_per_m": ("work per metre of handle radius", 1.0, " J/m"),
}
"""Field of a repetition -> its name for people, factor and unit."""


def describe_arms(
    profiles: ProfileDifference, travel: Travel, repetitions: Sequence[SideDifference]
) -> list[str]:
    """One sentence a load, and one about the repetitions."""
    return [
        *(
            describe_difference(
                profiles.of_load(k),
                f"With {load_text(float(load_kg))}",
                first="the left arm of the machine",
                second="the right arm of the machine",
                together="the two arms of the machine",
                travel=travel,
            )
            for k, load_kg in enumerate(profiles.loads_kg)
        ),
        describe_repetitions(repetitions),
    ]


def describe_repetitions(rows: Sequence[SideDifference]) -> str:
    """Quantities in which the repetitions of the two sides differ."""
    if not rows:
        return "Fewer than two whole repetitions on one side: the repetitions are not compared."
    clear = [
        row for row in rows if abs(row.difference) > row.u95 and abs(row.percent) >= WORTH_STATING_PERCENT
    ]
    if not clear:
        return "The repetitions of the two sides differ by no more than they scatter."
    return f"Repetitions: {'; '.join(_describe_quantity(row) for row in clear)}."


def _describe_quantity(row: SideDifference) -> str:
    name, factor, unit = QUANTITIES[row.quantity]
    left, right = (
        short_force(value) if unit == NEWTONS else f"{figure(factor * value)}{unit}"
        for value in (row.left, row.right)
    )
    return f"{name} {left} left against {right} right ({number(row.percent, '+.0f')} %)"
