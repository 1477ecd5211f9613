"""The left arm of a machine compared with its right arm, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.machine.comparison import describe_difference
from feltload.app.text.numbers import figure, force_unit, load_text, number, short_force
from feltload.app.text.position import short_position

if TYPE_CHECKING:
    from feltload.coaching import ProfileDifference
    from feltload.signal import Shape, SideDifference, Travel

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


def arm_name(side: str) -> str:
    """``left arm``."""
    return f"{side} arm"


def arms_key_figures(
    profiles: ProfileDifference, k: int, shapes: Mapping[str, Shape], travel: Travel
) -> tuple[KeyFigure, ...]:
    """Where each arm is heaviest with the load `k`, and their mean difference with its band."""
    mean_n, u95_n = float(profiles.mean_n[k]), float(profiles.mean_u95_n[k])
    heavier = arm_name("left" if mean_n > 0.0 else "right")
    more = f"the {heavier} is heavier" if abs(mean_n) > u95_n else "no more than the measurement can show"
    return (
        *(
            KeyFigure(
                f"Heaviest, {arm_name(side)}",
                short_force(shape.peak_n),
                f"at {short_position(shape.peak_angle_rad, travel)} of the travel; drops off by "
                f"{shape.drop_off_percent:.0f} % to its end",
            )
            for side, shape in shapes.items()
        ),
        KeyFigure(
            "Difference, mean",
            short_force(abs(mean_n)),
            f"± {short_force(u95_n)} ({short_force(abs(mean_n), force_unit().beside)}): {more}",
        ),
    )


def describe_arms_advice(*, differ: bool, is_serious: bool) -> str:
    """What to do about two arms; never more load."""
    if is_serious:
        return "What to do: do not use this result yet; read what is wrong with the data below, and record again."
    if differ:
        return (
            "What to do: look at the machine before anybody trains on it: the same plates on both arms, cables, stops "
            "and bearings alike? Until it is measured again, choose a client's load by the heavier arm."
        )
    return "What to do: nothing about the arms; what each asks for is in its own report."


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
