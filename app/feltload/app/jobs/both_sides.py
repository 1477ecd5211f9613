"""Left and right arm of one machine, measured at once: what differs, in words and as a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feltload.app.text.difference_words import difference_record, difference_words
from feltload.app.text.numbers import newtons

if TYPE_CHECKING:
    from feltload.signal import ProfileEstimate, SideDifference

FILE_NAME = "sides.json"
SIDES = ("left", "right")
ASSUMED = "Each side has its own cell, sensor and start angle: nothing of their uncertainty cancels in the difference."
# What is smaller is not worth a sentence, whatever its statistics.
WORTH_SAYING_PERCENT = 3.0
# Field of a repetition, its name for people, factor and unit.
QUANTITIES = {
    "range_rad": ("range", 180.0 / np.pi, "°"),
    "peak_n": ("peak force", 1.0, " N"),
    "mean_n": ("mean force raising", 1.0, " N"),
    "concentric_s": ("time raising", 1.0, " s"),
    "impulse_n_s": ("impulse", 1.0, " N·s"),
    "work_j_per_m": ("work per metre of handle radius", 1.0, " J/m"),
}


def compare(left: ProfileEstimate, right: ProfileEstimate) -> tuple[list[str], dict[str, object]]:
    """Sentences about the two sides, and the content of `sides.json`."""
    from feltload.coaching import profile_difference
    from feltload.signal import compare_sides

    difference = profile_difference(left, right)
    repetitions = compare_sides([*left.repetitions, *right.repetitions])
    lines = [
        difference_words(
            difference,
            k,
            first="the left arm of the machine",
            second="the right arm of the machine",
            together="the two arms of the machine",
        )
        for k in range(difference.loads_kg.size)
    ]
    lines.append(_repetition_words(repetitions))
    record: dict[str, object] = {
        "machine": left.machine_name,
        "difference": "left minus right",
        "assumed": ASSUMED,
        "angles_deg": np.round(np.degrees(difference.angle_rad), 6).tolist(),
        "loads": [difference_record(difference, k) for k in range(difference.loads_kg.size)],
        "repetitions": [dict(vars(row)) for row in repetitions],
    }
    return lines, record


def _repetition_words(rows: list[SideDifference]) -> str:
    if not rows:
        return "Fewer than two whole repetitions on one side: the repetitions are not compared."
    told = [row for row in rows if abs(row.difference) > row.u95 and abs(row.percent) >= WORTH_SAYING_PERCENT]
    if not told:
        return "The repetitions of the two sides differ by no more than they scatter."
    said = []
    for row in told:
        name, factor, unit = QUANTITIES[row.quantity]
        left, right = (f"{newtons(factor * value)}{unit}" for value in (row.left, row.right))
        said.append(f"{name} {left} left against {right} right ({row.percent:+.0f} %)".replace("-", "−"))
    return f"Repetitions: {'; '.join(said)}."
