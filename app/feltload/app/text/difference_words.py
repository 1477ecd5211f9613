"""The difference of two profiles at one load, in words and as a record."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.text.numbers import degrees, force_text, listed, load_text, newtons
from feltload.core import Flags, runs_of_true

if TYPE_CHECKING:
    from feltload.coaching import ProfileDifference

Place = Callable[[float], str]
"""How a position along the travel is said."""


def difference_words(
    difference: ProfileDifference,
    k: int,
    *,
    first: str,
    second: str,
    together: str,
    place: Place = degrees,
) -> str:
    """One sentence about the load `k`: which is heavier where, or that they do not differ.

    Parameters
    ----------
    difference : ProfileDifference
        First minus second.
    k : int
        Index of the load.
    first, second, together : str
        The two by name, such as "the left arm", and both, such as "the two arms".
    place : callable
        Words for a position.
    """
    values, band = difference.difference_n[k], difference.curve_u95_n[k]
    load = load_text(float(difference.loads_kg[k]))

    def at(index: int) -> str:
        return place(float(difference.angle_rad[index]))

    def most(among: Flags) -> str:
        greatest = int(np.argmax(np.where(among, np.abs(values), -1.0)))
        return f"{at(greatest)}: by {force_text(float(abs(values[greatest])))}, ± {newtons(float(band[greatest]))} N"

    established = difference.established[k]
    if not np.any(established):
        return (
            f"With {load}, {together} differ by no more than the measurement can tell "
            f"(most at {most(np.ones_like(established))})."
        )
    parts = []
    for name, among in ((first, established & (values > 0)), (second, established & (values < 0))):
        if np.any(among):
            ends = [
                "over all of the shared travel"
                if stop - begin == among.size
                else f"from {at(begin)} to {at(stop - 1)}"
                for begin, stop in runs_of_true(among)
            ]
            parts.append(f"{name} is the heavier one {listed(ends)}, most at {most(among)}")
    return f"With {load}, {'; '.join(parts)}."


def difference_record(difference: ProfileDifference, k: int) -> dict[str, object]:
    """The difference at the load `k` for programs."""
    values = difference.difference_n[k]
    largest = int(np.argmax(np.abs(values)))
    return {
        "load_kg": float(difference.loads_kg[k]),
        "difference_n": values.tolist(),
        "difference_u95_n": difference.u95_n[k].tolist(),
        "difference_curve_u95_n": difference.curve_u95_n[k].tolist(),
        "mean_n": float(difference.mean_n[k]),
        "mean_u95_n": float(difference.mean_u95_n[k]),
        "largest": {
            "angle_deg": float(np.degrees(difference.angle_rad[largest])),
            "difference_n": float(values[largest]),
            "u95_n": float(difference.u95_n[k, largest]),
        },
        "differs": bool(np.any(difference.established[k])),
    }
