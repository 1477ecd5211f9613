"""Left and right arm of one machine, measured at once: what differs, in words and as a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from feltload.signal.wording import degrees, force_text, load_text, newtons

if TYPE_CHECKING:
    from feltload.coaching.profile_difference import ProfileDifference
    from feltload.signal.profile import ProfileEstimate
    from feltload.signal.repetitions import SideDifference

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
    from feltload.coaching.profile_difference import profile_difference
    from feltload.signal.repetitions import compare_sides

    difference = profile_difference(left, right)
    repetitions = compare_sides([*left.repetitions, *right.repetitions])
    lines = [_machine_words(difference, k) for k in range(difference.loads_kg.size)]
    lines.append(_repetition_words(repetitions))
    record: dict[str, object] = {
        "machine": left.machine_name,
        "difference": "left minus right",
        "assumed": ASSUMED,
        "angles_deg": np.round(np.degrees(difference.angle_rad), 6).tolist(),
        "loads": [_load_record(difference, k) for k in range(difference.loads_kg.size)],
        "repetitions": [dict(vars(row)) for row in repetitions],
    }
    return lines, record


def _load_record(difference: ProfileDifference, k: int) -> Mapping[str, object]:
    largest = int(np.argmax(np.abs(difference.difference_n[k])))
    return {
        "load_kg": float(difference.loads_kg[k]),
        "difference_n": difference.difference_n[k].tolist(),
        "difference_u95_n": difference.u95_n[k].tolist(),
        "mean_n": float(difference.mean_n[k]),
        "mean_u95_n": float(difference.mean_u95_n[k]),
        "largest": {
            "angle_deg": float(np.degrees(difference.angle_rad[largest])),
            "difference_n": float(difference.difference_n[k, largest]),
            "u95_n": float(difference.u95_n[k, largest]),
        },
        "differs": bool(np.any(difference.significant[k])),
    }


def _machine_words(difference: ProfileDifference, k: int) -> str:
    size, band = np.abs(difference.difference_n[k]), difference.u95_n[k]
    told = difference.significant[k]
    at = int(np.argmax(np.where(told, size, 0.0) if np.any(told) else size))
    figure = f"{force_text(float(size[at]))}, ± {newtons(float(band[at]))} N"
    where = degrees(float(difference.angle_rad[at]))
    load = load_text(float(difference.loads_kg[k]))
    if not np.any(told):
        return (
            f"With {load} the two arms of the machine differ by no more than the measurement can tell "
            f"(at most {figure} at {where})."
        )
    heavier = "left" if difference.difference_n[k, at] > 0 else "right"
    reach = difference.angle_rad[told]
    return (
        f"With {load} the {heavier} arm of the machine is the heavier one, most at {where}: by {figure}. "
        f"They differ between {degrees(float(reach[0]))} and {degrees(float(reach[-1]))}."
    )


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
